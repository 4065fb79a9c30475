"""Where water goes: the stream, the pond, street inlets; and ground to keep out of for other reasons."""

from __future__ import annotations

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray
from scipy import ndimage
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from scripts.demo_area_maker.lot import Lot
from scripts.demo_area_maker.relief import PAVED_HALF_M, Frame, sample, stream_line
from scripts.demo_area_maker.warp import shape_to_ground

Floats = NDArray[np.float64]

FURTHEST_APART_M = 95.0


def stream() -> Polygon:
    """The stream's water surface."""
    return stream_line().buffer(1.4, cap_style="flat")


def pond() -> Polygon:
    """A pond beside the stream."""
    return shape_to_ground(shapely.affinity.scale(Point(745.0, 336.0).buffer(1.0, 20), 22.0, 11.0))


def inlets(frame: Frame, ground: Floats, streets: list[tuple[str, LineString]]) -> list[Point]:
    """Inlets in both gutters at their low points, and before too much street has run together."""
    found: list[Point] = []
    for _, line in streets:
        for side in (-1.0, 1.0):
            gutter = line.offset_curve(side * (PAVED_HALF_M - 0.2))
            along = np.arange(0.0, gutter.length, 1.0)
            points = np.array([gutter.interpolate(d).coords[0] for d in along])
            height = ndimage.gaussian_filter1d(sample(frame, ground, points), 4.0, mode="nearest")
            found += [Point(points[i]) for i in gutter_stops(height)]
    ways = shapely.union_all([line for _, line in streets])
    kept: list[Point] = []
    for point in found:
        if point.distance(ways) > PAVED_HALF_M - 0.7 and all(point.distance(other) > 12.0 for other in kept):
            kept.append(point)
    return kept


def gutter_stops(height: Floats) -> list[int]:
    """Metres along a gutter where an inlet stands: at each low, and every so often on the way down to it."""
    low = [i for i in range(9, len(height) - 9) if height[i] == height[i - 9 : i + 10].min()]
    ends = [i for i in (8, len(height) - 9) if height[i] < height[max(i - 30, 0) : i + 30].max() - 0.15]
    stops = sorted(low + [e for e in ends if height[e] <= height[max(e - 8, 0) : e + 9].min() + 0.12])
    spaced: list[int] = []
    for at in stops:
        if spaced and at - spaced[-1] > FURTHEST_APART_M:
            spaced += list(range(spaced[-1] + int(FURTHEST_APART_M), at - 20, int(FURTHEST_APART_M)))
        if not spaced or at - spaced[-1] > 12:
            spaced.append(at)
    return spaced


def keep_out(lots: list[Lot], houses: BaseGeometry, seed: int) -> list[dict[str, object]]:
    """Walls, pools, a flood zone and a stream buffer, as rows of the ``avoid`` layer."""
    rng = np.random.default_rng([seed, 11])
    line = stream_line()
    rows: list[dict[str, object]] = [
        row(
            "Mizzle Run flood zone",
            "other",
            line.buffer(24.0, cap_style="flat"),
            "look closer",
            "The flood zone map covers this place; the flood office decides.",
        ),
        row(
            "Mizzle Run buffer",
            "other",
            line.buffer(12.0, cap_style="flat"),
            "no digging",
            "The stream buffer is left to grow.",
        ),
    ]
    for start, end, height in ((302.0, 352.0, 1.6), (452.0, 512.0, 2.2)):
        wall = shape_to_ground(LineString([(start, 371.0), (end, 371.0)]).segmentize(6.0))
        rows.append(
            row(
                "retaining wall",
                "wall",
                wall,
                "no digging",
                "A retaining wall stands here; wet ground behind it can push it over.",
                height,
            )
        )
    for lot in lots:
        if lot.plan.kind in ("wide", "deep") and rng.random() < 0.3:
            place = Point(lot.point(lot.width_m * rng.uniform(0.4, 0.6), lot.depth_m * 0.8))
            pool = shapely.affinity.rotate(
                shapely.affinity.scale(place.buffer(1.0, 8), 4.2, 2.4), np.degrees(np.arctan2(*lot.along[::-1]))
            )
            if lot.shape.buffer(-1.0).contains(pool) and pool.distance(houses) > 3.0:
                rows.append(row("pool", "pool", pool, "no digging", "A pool needs its own clearance."))
    return rows


def row(
    name: str, kind: str, shape: BaseGeometry, effect: str, sentence: str, height: float | None = None
) -> dict[str, object]:
    """One row of the ``avoid`` layer."""
    return {"name": name, "kind": kind, "effect": effect, "sentence": sentence, "height": height, "geometry": shape}
