"""Houses, garages, sheds and what is paved around them, each drawn in its lot's own frame."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from scripts.demo_area_maker.plan import PlanLot
from scripts.demo_area_maker.warp import to_ground

KERB_OUT_M = 3.3
"""From the lot line out to the kerb, where drives meet the street."""


@dataclass(frozen=True)
class Lot:
    """A lot on the ground, with its front line and the direction into it."""

    number: int
    plan: PlanLot
    shape: Polygon
    left: np.ndarray
    along: np.ndarray
    inward: np.ndarray
    width_m: float
    depth_m: float

    def on_ground(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape drawn in the lot's frame (a along the front, b inward), on the ground."""
        axes = np.array([self.along, self.inward])
        return shapely.transform(shape, lambda ab: self.left + ab @ axes)

    def point(self, a: float, b: float) -> np.ndarray:
        """A frame point on the ground."""
        return self.left + a * self.along + b * self.inward


def lot_frame(number: int, plan: PlanLot, shape: Polygon) -> Lot:
    """Find a lot's frame from the ends of its front."""
    ends = np.array(plan.front)
    x, y = to_ground(ends[:, 0], ends[:, 1])
    left, right = np.array([x[0], y[0]]), np.array([x[1], y[1]])
    width = float(np.hypot(*(right - left)))
    along = (right - left) / width
    inward = np.array([-along[1], along[0]])
    depth = float(((shapely.get_coordinates(shape) - left) @ inward).max())
    return Lot(number, plan, shape, left, along, inward, width, depth)


@dataclass
class Built:
    """What stands on one lot."""

    roofs: list[tuple[str, Polygon]] = field(default_factory=list)
    paved: list[tuple[str, Polygon]] = field(default_factory=list)
    basement: bool | None = None
    corners: list[tuple[float, float]] = field(default_factory=list)
    """Corners of the house on the ground, the street's side first."""


def house_outline(form: str, w: float, d: float, rng: np.random.Generator) -> Polygon:
    """Eaves of a house in a ``w`` by ``d`` rectangle, front at b = 0, as seen with left at a = 0."""
    if form == "L":
        wing, cut = w * rng.uniform(0.42, 0.55), d * rng.uniform(0.3, 0.42)
        return shapely.union_all([box(0, cut, w, d), box(0, 0, wing, d)])
    if form == "rear L":
        wing, cut = w * rng.uniform(0.4, 0.55), d * rng.uniform(0.3, 0.4)
        return shapely.union_all([box(0, 0, w, d - cut), box(0, 0, wing, d)])
    if form == "T":
        wing, start, cut = w * rng.uniform(0.34, 0.44), w * rng.uniform(0.25, 0.35), d * rng.uniform(0.28, 0.4)
        return shapely.union_all([box(0, 0, w, d - cut), box(start, 0, start + wing, d)])
    if form == "U":
        wing, cut = w * rng.uniform(0.27, 0.34), d * rng.uniform(0.35, 0.45)
        return shapely.union_all([box(0, 0, w, d - cut), box(0, 0, wing, d), box(w - wing, 0, w, d)])
    return box(0, 0, w, d)


FORMS = ("rectangle", "L", "rear L", "T", "U")
FORM_SHARES = (0.34, 0.28, 0.16, 0.13, 0.09)
SETBACK_M = {"ordinary": (7.0, 9.5), "wide": (8.5, 12.5), "deep": (11.0, 18.0), "narrow": (5.5, 7.0), "twin": (6.0, 6.0), "flag": (6.0, 9.0), "court": (7.0, 10.0)}


def house_size(lot: Lot, rng: np.random.Generator) -> tuple[float, float, float]:
    """Width, depth and distance from the front of a house [m]."""
    kind = lot.plan.kind
    setback = rng.uniform(*SETBACK_M[kind])
    if kind == "narrow":
        return min(lot.width_m - 3.4, 8.5), float(rng.uniform(13.0, 17.0)), setback
    widest = 17.5 if kind in ("wide", "deep", "flag") else 13.5
    width = float(np.clip(lot.width_m * rng.uniform(0.5, 0.62), 8.0, widest))
    return width, float(rng.uniform(8.2, 11.2)), setback


def build(lot: Lot, seed: int) -> Built:
    """Put a house, its garage, drive, walk and perhaps a patio and a shed on a lot; nothing where nothing fits."""
    rng = np.random.default_rng([seed, 3, lot.number])
    built = Built()
    if lot.plan.kind == "park" or rng.random() < 0.012:
        return built
    w, d, setback = house_size(lot, rng)
    left_hand = bool(rng.random() < 0.5)
    form = str(rng.choice(FORMS, p=FORM_SHARES))
    outline = house_outline(form, w, d * (1.28 if form != "rectangle" else 1.0), rng)
    spare = lot.width_m - w
    start = max(1.9, spare - 1.9) if spare > 5.6 and lot.plan.kind != "narrow" else spare / 2
    house = place_house(lot, outline, start, setback, left_hand)
    if house is None:
        return built
    placed = lot.on_ground(house)
    built.roofs.append(("house", placed))
    built.basement = bool(rng.random() < 0.35)
    a0, b0, a1, b1 = house.bounds
    built.corners = [tuple(lot.point(a, b)) for a, b in ((a0, b0), (a1, b0), (a0, b1), (a1, b1))]  # type: ignore[misc]
    add_drive(lot, built, (a0, b0, a1, b1), left_hand, rng)
    add_walk_and_patio(lot, built, (a0, b0, a1, b1), rng)
    add_shed(lot, built, b1, rng)
    return built


def place_house(lot: Lot, outline: Polygon, start: float, setback: float, left_hand: bool) -> BaseGeometry | None:
    """The first place near the wanted one where the house stands clear of the lot's lines, smaller if need be."""
    inside = lot.shape.buffer(-1.2)
    width = float(outline.bounds[2])
    for scale in (1.0, 0.92, 0.84, 0.76):
        smaller = shapely.affinity.scale(outline, scale, scale, origin=(0, 0))
        for back in (0.0, 1.5, 3.0, 5.0):
            for toward_middle in (0.0, 0.5, 1.0, 1.5):
                a = start + (1.0 - scale) * width / 2 + toward_middle * ((lot.width_m - width) / 2 - start)
                moved = shapely.affinity.translate(smaller, a, setback + back)
                house = mirror(moved, lot.width_m) if left_hand else moved
                if inside.contains(lot.on_ground(house)):
                    return house
    return None


def mirror(shape: BaseGeometry, width: float) -> BaseGeometry:
    """A frame shape seen in a mirror."""
    return shapely.transform(shape, lambda p: np.column_stack([width - p[:, 0], p[:, 1]]))


def add_drive(lot: Lot, built: Built, house: tuple[float, float, float, float], left_hand: bool, rng: np.random.Generator) -> None:
    """A drive beside the house to a garage behind it, or a short one to its front."""
    a0, b0, a1, b1 = house
    inside, stands = lot.shape.buffer(-0.9), shapely.union_all([r for _, r in built.roofs])
    out = KERB_OUT_M if lot.plan.kind != "flag" else 0.0
    gap = (lot.width_m - a1) if left_hand else a0
    to_garage = gap > 3.6 and rng.random() < 0.6 and lot.plan.kind not in ("narrow", "court")
    if to_garage:
        wide = 2.9
        middle = lot.width_m - gap / 2 - 0.3 if left_hand else gap / 2 + 0.3
        behind = b1 + rng.uniform(1.5, 5.0)
        garage_w, garage_d = rng.uniform(4.2, 6.4), rng.uniform(6.2, 7.2)
        at = (lot.width_m - 1.3 - garage_w) if left_hand else 1.3
        garage = lot.on_ground(box(at, behind, at + garage_w, behind + garage_d))
        if inside.contains(garage) and garage.distance(stands) > 1.0:
            built.roofs.append(("garage", garage))
            drive = box(middle - wide / 2, -out, middle + wide / 2, behind)
            built.paved.append(("drive", lot.on_ground(drive).difference(stands)))
            return
    wide = float(rng.uniform(3.0, 5.2)) if lot.plan.kind != "narrow" else 2.7
    at = min(max(a0 + 0.4, 1.0), lot.width_m - wide - 0.8) if not left_hand else max(a1 - 0.4 - wide, 0.8)
    drive = box(at, -out, at + wide, b0 + 3.0)
    built.paved.append(("drive", largest(lot.on_ground(drive).difference(stands))))


def largest(shape: BaseGeometry) -> Polygon:
    """The largest polygon of a geometry."""
    return max(shapely.get_parts(shape), key=lambda part: part.area)


def add_walk_and_patio(lot: Lot, built: Built, house: tuple[float, float, float, float], rng: np.random.Generator) -> None:
    """A walk from the door to the street or across to the drive, and sometimes a patio behind."""
    a0, b0, a1, b1 = house
    stands = shapely.union_all([r for _, r in built.roofs])
    drives = shapely.union_all([p for _, p in built.paved])
    door = a0 + (a1 - a0) * rng.uniform(0.45, 0.58)
    walk = box(door - 0.6, 0.0, door + 0.6, b0 + 3.5)
    if rng.random() < 0.45:
        drive_a = float(((np.array(drives.centroid.coords[0]) - lot.left) @ lot.along))
        walk = box(min(door, drive_a), b0 - 2.2, max(door, drive_a), b0 - 1.0).union(box(door - 0.6, b0 - 2.2, door + 0.6, b0 + 3.5))
    ground = lot.on_ground(walk).difference(stands.union(drives)).intersection(lot.shape)
    if not ground.is_empty:
        built.paved.append(("walk", largest(ground)))
    if rng.random() < 0.4:
        wide, deep = rng.uniform(3.0, 5.0), rng.uniform(2.4, 4.0)
        at = rng.uniform(a0, max(a0 + 0.1, a1 - wide))
        patio = lot.on_ground(box(at, b1 - 2.5, at + wide, b1 + deep)).difference(stands).intersection(lot.shape.buffer(-0.5))
        patio = patio.difference(drives)
        if not patio.is_empty:
            built.paved.append(("patio", largest(patio)))


def add_shed(lot: Lot, built: Built, house_back: float, rng: np.random.Generator) -> None:
    """A shed in a back corner of some lots."""
    if rng.random() > 0.38:
        return
    w, d = rng.uniform(2.2, 4.0), rng.uniform(2.0, 3.4)
    a = 1.4 if rng.random() < 0.5 else lot.width_m - w - 1.4
    b = lot.depth_m - d - rng.uniform(1.6, 3.2)
    shed = lot.on_ground(box(a, b, a + w, b + d))
    others = shapely.union_all([r for _, r in built.roofs] + [p for _, p in built.paved])
    if b > house_back + 3.0 and lot.shape.buffer(-0.7).contains(shed) and shed.distance(others) > 0.8:
        built.roofs.append(("shed", shed))


def build_twins(first: Lot, second: Lot, seed: int) -> tuple[Built, Built]:
    """One roof over two lots: drawn in the first lot's frame, across the line between them."""
    rng = np.random.default_rng([seed, 4, first.number])
    side = rng.uniform(1.8, 2.4)
    depth, setback = rng.uniform(8.5, 10.5), rng.uniform(5.5, 7.5)
    line = first.width_m
    reversed_order = float((second.left - first.left) @ first.along) < 0
    low, high = (-second.width_m + side, line - side) if reversed_order else (side, line + second.width_m - side)
    wing = rng.uniform(2.5, 3.5)
    roof = shapely.union_all([box(low, setback, high, setback + depth), box(low + (high - low) * 0.28, setback, low + (high - low) * 0.72, setback + depth + wing)])
    one, two = Built(basement=bool(rng.random() < 0.6)), Built()
    one.roofs.append(("house", first.on_ground(roof)))
    one.corners = [tuple(first.point(a, b)) for a, b in ((low, setback), (high, setback), (low, setback + depth), (high, setback + depth))]  # type: ignore[misc]
    for lot, built in ((first, one), (second, two)):
        walk = lot.on_ground(box(lot.width_m / 2 - 0.55, 0.0, lot.width_m / 2 + 0.55, setback + 1.0))
        built.paved.append(("walk", largest(walk.difference(one.roofs[0][1]))))
        add_shed(lot, built, setback + depth + wing, rng)
    return one, two
