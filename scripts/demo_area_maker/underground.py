"""What lies under the ground: a main in its easement, service lines, wells and septic fields."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from shapely.geometry import LineString, Point, Polygon, box

from scripts.demo_area_maker.lot import Built, Lot
from scripts.demo_area_maker.warp import shape_to_ground

SERVED_STREETS = ("Rainbarrel Row", "Puddle Lane")
"""The streets whose service lines somebody has put on a map."""
EASEMENT_HALF_M = 3.0


@dataclass
class Underground:
    """Lines, points and fields, on the ground."""

    buried: list[tuple[str, LineString]] = field(default_factory=list)
    easements: list[tuple[str, Polygon]] = field(default_factory=list)
    wells: list[Point] = field(default_factory=list)
    septic: list[Polygon] = field(default_factory=list)


def along_v(u_start: float, u_end: float, v: float) -> LineString:
    """A line of constant v on the ground."""
    return shape_to_ground(LineString([(u_start, v), (u_end, v)]).segmentize(6.0))


def mains() -> list[tuple[str, LineString]]:
    """The sewer behind the lots, with the line that crosses between houses to it, and the mains in the streets."""
    rear = along_v(20.0, 552.0, 528.5)
    cross = shape_to_ground(LineString([(190.0, 528.5), (190.0, 439.0), (183.0, 395.0)]).segmentize(6.0))
    return [
        ("main", rear),
        ("main", cross),
        ("main", along_v(12.0, 808.0, 485.2)),
        ("main", along_v(12.0, 808.0, 228.2)),
    ]


def underground(lots: list[Lot], built: list[Built], seed: int) -> Underground:
    """Everything below ground."""
    rng = np.random.default_rng([seed, 7])
    out = Underground(buried=mains())
    out.easements = [("sewer easement", line.buffer(EASEMENT_HALF_M, cap_style="flat")) for _, line in out.buried[:2]]
    drain = shape_to_ground(box(738.0, 94.0, 746.0, 130.5).segmentize(6.0))
    out.easements.append(("drainage easement", drain))
    for lot, house in zip(lots, built, strict=True):
        if not house.corners:
            continue
        if lot.plan.street in SERVED_STREETS and lot.plan.kind != "flag":
            out.buried.append(("service", service_line(lot, house, rng)))
        if lot.plan.street == "Mackerel Sky Road" and lot.plan.kind in ("deep", "flag"):
            add_well_and_septic(lot, house, out, rng)
    return out


def service_line(lot: Lot, house: Built, rng: np.random.Generator) -> LineString:
    """From the main in the street straight to the house's front."""
    corners = np.array(house.corners)
    share = rng.uniform(0.25, 0.75)
    foot = corners[0] * (1 - share) + corners[1] * share
    a = float((foot - lot.left) @ lot.along)
    return LineString([lot.point(a + rng.uniform(-0.6, 0.6), -7.0), foot])


def add_well_and_septic(lot: Lot, house: Built, out: Underground, rng: np.random.Generator) -> None:
    """Lots beyond the pipes have a septic field behind the house; half of those a well in front."""
    if rng.random() > 0.5:
        return
    corners = np.array(house.corners)
    back = float(((corners - lot.left) @ lot.inward).max())
    room = lot.depth_m - back
    if room < 16.0:
        return
    middle = lot.width_m * rng.uniform(0.4, 0.6)
    wide, deep = rng.uniform(8.0, 12.0), rng.uniform(5.0, 7.0)
    start = back + room - deep - 3.0
    field_shape = lot.on_ground(box(middle - wide / 2, start, middle + wide / 2, start + deep))
    if lot.shape.contains(field_shape):
        out.septic.append(field_shape)
    if rng.random() < 0.6:
        out.wells.append(Point(lot.point(lot.width_m * rng.choice([0.14, 0.86]), rng.uniform(2.5, 5.0))))
