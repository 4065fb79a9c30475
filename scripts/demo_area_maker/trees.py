"""Trees: in yards, along streets, and the wood on the bluff and by the stream."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from scripts.demo_area_maker.lot import Lot
from scripts.demo_area_maker.relief import Frame, stream_v
from scripts.demo_area_maker.warp import to_ground


@dataclass(frozen=True)
class Tree:
    """A tree: where it stands, and what was measured of it."""

    place: Point
    trunk_m: float | None
    crown_m: float | None


def yard_trees(lots: list[Lot], clear: BaseGeometry, seed: int) -> list[Tree]:
    """A tree to each 600 m2 of yard or so, off buildings and paving; two in five with the trunk measured."""
    rng = np.random.default_rng([seed, 8])
    shapely.prepare(clear)
    out = []
    for lot in lots:
        mean = min(lot.shape.area / 620.0, 14.0)
        inside = lot.shape.buffer(-1.0)
        for _ in range(rng.poisson(mean)):
            a, b = rng.uniform(0, lot.width_m), lot.depth_m * rng.uniform(0, 1) ** 0.7
            place = Point(lot.point(a, b))
            if inside.contains(place) and not clear.intersects(place.buffer(1.5)):
                trunk = float(np.clip(rng.lognormal(np.log(0.30), 0.45), 0.10, 0.95))
                crown = 1.0 + 9.0 * trunk * rng.uniform(0.75, 1.15)
                out.append(
                    Tree(place, round(trunk, 2), None) if rng.random() < 0.5 else Tree(place, None, round(crown, 1))
                )
    return out


def street_trees(streets: list[tuple[str, LineString]], clear: BaseGeometry, seed: int) -> list[Tree]:
    """Young trees in the verge of two streets, each 18 m or so."""
    rng = np.random.default_rng([seed, 9])
    out = []
    for name, line in streets:
        if name not in ("Cloudburst Avenue", "Mizzle Way"):
            continue
        for side in (-6.2, 6.2):
            verge = line.offset_curve(side)
            for along in np.arange(9.0, verge.length, 18.0):
                place = verge.interpolate(along + rng.uniform(-2, 2))
                if not clear.intersects(place.buffer(1.2)) and rng.random() < 0.7:
                    out.append(Tree(place, round(float(rng.uniform(0.12, 0.24)), 2), None))
    return out


def wood(frame: Frame, lots: list[Lot], ways: BaseGeometry, clear: BaseGeometry, seed: int) -> list[Tree]:
    """Crowns seen from the air on the bluff and along the stream, no trunk measured."""
    rng = np.random.default_rng([seed, 10])
    u = rng.uniform(-8, 828, 2600)
    away = rng.uniform(-32, 80, 2600)
    keep = rng.random(2600) < np.where(away > 0, np.where(u > 300, 0.30, 0.10), 0.12)
    x, y = to_ground(u[keep], stream_v(u[keep]) + away[keep])
    places = [Point(*xy) for xy in zip(x, y, strict=True)]
    yards = shapely.union_all([lot.shape for lot in lots if lot.plan.kind != "wide"])
    shapely.prepare(yards)
    shapely.prepare(clear)
    shapely.prepare(ways)
    sheet = frame.outline().buffer(-2.0)
    out = []
    for place in places:
        crown = round(float(rng.uniform(2.0, 5.5)), 1)
        if sheet.contains(place) and not (
            yards.intersects(place) or ways.intersects(place) or clear.intersects(place.buffer(5.0))
        ):
            out.append(Tree(place, None, crown))
    return out
