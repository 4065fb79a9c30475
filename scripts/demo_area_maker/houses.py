"""Houses, each drawn in its lot's own frame, and twins under one roof."""

from __future__ import annotations

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry import Polygon, box

from scripts.demo_area_maker.lot import Built, Lot, joined, mirror
from scripts.demo_area_maker.yards import add_drive, add_shed, add_walk_and_patio, pave


def house_outline(form: str, w: float, d: float, rng: np.random.Generator) -> Polygon:
    """Eaves of a house in a ``w`` by ``d`` rectangle, front at b = 0, as seen with left at a = 0."""
    if form == "L":
        wing, cut = w * rng.uniform(0.42, 0.55), d * rng.uniform(0.3, 0.42)
        return joined(box(0, cut, w, d), box(0, 0, wing, d))
    if form == "rear L":
        wing, cut = w * rng.uniform(0.4, 0.55), d * rng.uniform(0.3, 0.4)
        return joined(box(0, 0, w, d - cut), box(0, 0, wing, d))
    if form == "T":
        wing, start, cut = w * rng.uniform(0.34, 0.44), w * rng.uniform(0.25, 0.35), d * rng.uniform(0.28, 0.4)
        return joined(box(0, 0, w, d - cut), box(start, 0, start + wing, d))
    if form == "U":
        wing, cut = w * rng.uniform(0.27, 0.34), d * rng.uniform(0.35, 0.45)
        return joined(box(0, 0, w, d - cut), box(0, 0, wing, d), box(w - wing, 0, w, d))
    return box(0, 0, w, d)


SIDE_M = 3.1
"""Side yard where the lot is wide enough; water between two houses then keeps off both."""

FORMS = ("rectangle", "L", "rear L", "T", "U")
FORM_SHARES = (0.34, 0.28, 0.16, 0.13, 0.09)
SETBACK_M = {
    "ordinary": (7.0, 9.5),
    "wide": (8.5, 12.5),
    "deep": (11.0, 18.0),
    "narrow": (5.5, 7.0),
    "twin": (6.0, 6.0),
    "flag": (6.0, 9.0),
    "court": (7.0, 10.0),
}


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
    start = spare - SIDE_M if spare > 2 * SIDE_M + 0.2 and lot.plan.kind != "narrow" else spare / 2
    house = place_house(lot, outline, start, setback, left_hand)
    if house is None:
        return built
    placed = lot.on_ground(house)
    built.roofs.append(("house", placed))
    built.basement = bool(rng.random() < 0.35)
    a0, b0, a1, b1 = house.bounds
    built.corners = [tuple(lot.point(a, b)) for a, b in ((a0, b0), (a1, b0), (a0, b1), (a1, b1))]
    add_drive(lot, built, (a0, b0, a1, b1), left_hand, rng)
    add_walk_and_patio(lot, built, (a0, b0, a1, b1), rng)
    add_shed(lot, built, b1, rng)
    return built


def place_house(lot: Lot, outline: Polygon, start: float, setback: float, left_hand: bool) -> Polygon | None:
    """The first place near the wanted one where the house stands clear of the lot's lines, smaller if need be."""
    inside = lot.shape.buffer(-1.2)
    width = float(outline.bounds[2])
    for scale in (1.0, 0.92, 0.84, 0.76):
        smaller: Polygon = shapely.affinity.scale(outline, scale, scale, origin=(0, 0))
        for back in (0.0, 1.5, 3.0, 5.0):
            for toward_middle in (0.0, 0.5, 1.0, 1.5):
                a = start + (1.0 - scale) * width / 2 + toward_middle * ((lot.width_m - width) / 2 - start)
                moved: Polygon = shapely.affinity.translate(smaller, a, setback + back)
                house = mirror(moved, lot.width_m) if left_hand else moved
                if inside.contains(lot.on_ground(house)):
                    return house
    return None


def build_twins(first: Lot, second: Lot, seed: int) -> tuple[Built, Built]:
    """One roof over two lots: drawn in the first lot's frame, across the line between them."""
    rng = np.random.default_rng([seed, 4, first.number])
    side = rng.uniform(1.8, 2.4)
    depth, setback = rng.uniform(8.5, 10.5), rng.uniform(5.5, 7.5)
    line = first.width_m
    reversed_order = float((second.left - first.left) @ first.along) < 0
    low, high = (-second.width_m + side, line - side) if reversed_order else (side, line + second.width_m - side)
    wing = rng.uniform(2.5, 3.5)
    middle = (low + (high - low) * 0.28, low + (high - low) * 0.72)
    roof = joined(box(low, setback, high, setback + depth), box(middle[0], setback, middle[1], setback + depth + wing))
    one, two = Built(basement=bool(rng.random() < 0.6)), Built()
    one.roofs.append(("house", first.on_ground(roof)))
    one.corners = [
        tuple(first.point(a, b))
        for a, b in ((low, setback), (high, setback), (low, setback + depth), (high, setback + depth))
    ]
    for lot, built in ((first, one), (second, two)):
        walk = lot.on_ground(box(lot.width_m / 2 - 0.55, 0.0, lot.width_m / 2 + 0.55, setback + 1.0))
        pave(built, "walk", walk.difference(one.roofs[0][1]))
        add_shed(lot, built, setback + depth + wing, rng)
    return one, two
