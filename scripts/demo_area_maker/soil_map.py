"""Where the soils lie: smooth outlines on the plan, painted one over the other and cut to fit."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from scripts.demo_area_maker.drains import pond
from scripts.demo_area_maker.relief import Frame, stream_v
from scripts.demo_area_maker.warp import shape_to_ground

BEYOND_M = 130.0
"""How far outlines go past the plan; further out the plan's bends would fold over."""
SHEET_MARGIN_M = 40.0
"""How far the soil map goes past the elevation."""


def blob(u: float, v: float, reach_u: float, reach_v: float, phase: float) -> Polygon:
    """A smooth closed outline round a plan point."""
    angle = np.linspace(0, 2 * np.pi, 61)[:-1]
    radius = 1.0 + 0.16 * np.sin(2 * angle + phase) + 0.09 * np.sin(3 * angle + 2.3 * phase)
    return Polygon(np.column_stack([u + reach_u * radius * np.cos(angle), v + reach_v * radius * np.sin(angle)]))


def band(low: float, high: float, start: float = -BEYOND_M, end: float = 820.0 + BEYOND_M) -> Polygon:
    """The strip between two distances from the stream, north positive."""
    u = np.linspace(start, end, 120)
    lower = stream_v(u) + low + 4.0 * np.sin(u / 37.0)
    upper = stream_v(u) + high + 5.0 * np.sin(u / 53.0 + 1.0)
    return Polygon(np.concatenate([np.column_stack([u, lower]), np.column_stack([u, upper])[::-1]]))


def painted() -> list[tuple[str, BaseGeometry]]:
    """Symbol and outline on the plan, later ones over earlier ones."""
    far = box(-BEYOND_M, -BEYOND_M, 820.0 + BEYOND_M, 735.0 + BEYOND_M)
    return [
        ("5C", far),
        ("5A", box(-BEYOND_M, -BEYOND_M, 820.0 + BEYOND_M, 260.0).union(band(-80.0, 30.0))),
        ("2A", blob(600.0, 95.0, 150.0, 60.0, 0.6)),
        ("8B", blob(60.0, 115.0, 110.0, 48.0, 1.9)),
        ("8B", blob(730.0, 672.0, 120.0, 52.0, 0.2)),
        ("11B", blob(95.0, 600.0, 85.0, 46.0, 1.1)),
        ("2A", blob(420.0, 690.0, 150.0, 40.0, 2.7)),
        ("16", blob(150.0, 180.0, 42.0, 20.0, 0.9)),
        ("16", blob(418.0, 545.0, 20.0, 60.0, 0.4)),
        ("31", blob(690.0, 440.0, 95.0, 40.0, 2.2)),
        ("30", blob(345.0, 440.0, 46.0, 36.0, 0.3)),
        ("19F", band(22.0, 84.0, 330.0)),
        ("14", band(-24.0, 24.0)),
    ]


def soil_polygons(frame: Frame) -> list[tuple[str, Polygon]]:
    """Symbol and polygon on the ground, covering the area once and leaving no gap."""
    layers = painted()
    sheet = frame.outline().buffer(SHEET_MARGIN_M, join_style="mitre")
    water = shapely.segmentize(pond(), 6.0)
    out: list[tuple[str, Polygon]] = []
    over: BaseGeometry = Polygon()
    for symbol, shape in reversed(layers):
        for part in shapely.get_parts(shape.difference(over)):
            if part.geom_type == "Polygon" and part.area > 30.0:
                ground = shape_to_ground(part.segmentize(12.0)).difference(water).intersection(sheet)
                out += [(symbol, piece) for piece in shapely.get_parts(ground) if piece.area > 30.0]
        over = shapely.union(over, shape)
    out.append(("W", water))
    rest = sheet.difference(shapely.union_all([shape for _, shape in out]))
    out += [("5A" if part.centroid.y < 0 else "5C", part) for part in shapely.get_parts(rest) if part.area > 30.0]
    return sorted(out, key=lambda item: (item[0], item[1].bounds))
