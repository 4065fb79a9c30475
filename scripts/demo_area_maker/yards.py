"""Drives, walks, patios, garages and sheds round a house, drawn in its lot's own frame."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from scripts.demo_area_maker.lot import Built, Lot, joined, tidy

KERB_OUT_M = 3.3
"""From the lot line out to the kerb, where drives meet the street."""

Box = tuple[float, float, float, float]


def taken(built: Built) -> BaseGeometry:
    """Everything that stands or is paved so far, on the ground."""
    return shapely.union_all([shape for _, shape in built.roofs + built.paved])


def pave(built: Built, kind: str, shape: BaseGeometry) -> None:
    """Pave what is still free of a shape."""
    rest = tidy(shape.difference(taken(built)))
    if rest is not None:
        built.paved.append((kind, rest))


def add_drive(lot: Lot, built: Built, house: Box, left_hand: bool, rng: np.random.Generator) -> None:
    """A drive beside the house to a garage behind it, or a short one to its front."""
    a0, b0, a1, b1 = house
    gap = (lot.width_m - a1) if left_hand else a0
    if lot.plan.kind == "flag":
        pave(built, "drive", lot.on_ground(flag_drive(lot, a0, b0)))
    elif gap > 3.6 and lot.plan.kind not in ("narrow", "court") and rng.random() < 0.6:
        middle = lot.width_m - gap / 2 - 0.3 if left_hand else gap / 2 + 0.3
        behind = add_garage(lot, built, b1 + rng.uniform(1.5, 5.0), left_hand, rng)
        end = behind if behind is not None else b1 - 1.0
        pave(built, "drive", lot.on_ground(box(middle - 1.45, -KERB_OUT_M, middle + 1.45, end)))
    else:
        wide = 2.7 if lot.plan.kind == "narrow" else float(rng.uniform(3.0, 5.2))
        at = max(a1 - 0.4 - wide, 0.8) if left_hand else min(max(a0 + 0.4, 1.0), lot.width_m - wide - 0.8)
        pave(built, "drive", lot.on_ground(box(at, -KERB_OUT_M, at + wide, b0 + 3.0)))


def flag_drive(lot: Lot, house_a: float, house_b: float) -> Polygon:
    """Up the pole of a flag lot, then across to the house's front."""
    frame = (shapely.get_coordinates(lot.shape) - lot.left) @ np.array([lot.along, lot.inward]).T
    pole = frame[frame[:, 1] < -3.0]
    middle = float(pole[:, 0].mean())
    up = box(middle - 1.5, float(pole[:, 1].min()) - KERB_OUT_M, middle + 1.5, house_b - 1.0)
    across = box(middle - 1.5, house_b - 4.0, max(house_a + 4.0, middle + 1.5), house_b - 1.0)
    return joined(up, across, box(house_a + 0.8, house_b - 4.0, house_a + 4.0, house_b + 3.0))


def add_garage(lot: Lot, built: Built, behind: float, left_hand: bool, rng: np.random.Generator) -> float | None:
    """A garage beside the lot line; where its front is, or None where it does not fit [m]."""
    wide, deep = rng.uniform(4.2, 6.4), rng.uniform(6.2, 7.2)
    at = (lot.width_m - 1.3 - wide) if left_hand else 1.3
    garage = lot.on_ground(box(at, behind, at + wide, behind + deep))
    if not lot.shape.buffer(-0.9).contains(garage) or garage.distance(taken(built)) < 1.0:
        return None
    built.roofs.append(("garage", garage))
    return behind


def add_walk_and_patio(lot: Lot, built: Built, house: Box, rng: np.random.Generator) -> None:
    """A walk from the door to the street or across to the drive, and sometimes a patio behind."""
    a0, b0, a1, b1 = house
    door = a0 + (a1 - a0) * rng.uniform(0.45, 0.58)
    walk: BaseGeometry = box(door - 0.6, 0.0, door + 0.6, b0 + 3.5)
    if rng.random() < 0.45 and built.paved:
        drive = built.paved[0][1].intersection(lot.shape)
        drive_a = float((np.array(drive.centroid.coords[0]) - lot.left) @ lot.along)
        across = box(min(door, drive_a), b0 - 2.2, max(door, drive_a), b0 - 1.0)
        walk = across.union(box(door - 0.6, b0 - 2.2, door + 0.6, b0 + 3.5))
    pave(built, "walk", lot.on_ground(walk).intersection(lot.shape))
    if rng.random() < 0.4:
        wide, deep = rng.uniform(3.0, 5.0), rng.uniform(2.4, 4.0)
        at = rng.uniform(a0, max(a0 + 0.1, a1 - wide))
        patio = lot.on_ground(box(at, b1 - 2.5, at + wide, b1 + deep))
        pave(built, "patio", patio.intersection(lot.shape.buffer(-0.5)))


def add_shed(lot: Lot, built: Built, house_back: float, rng: np.random.Generator) -> None:
    """A shed in a back corner of some lots."""
    if rng.random() > 0.38:
        return
    w, d = rng.uniform(2.2, 4.0), rng.uniform(2.0, 3.4)
    a = 1.4 if rng.random() < 0.5 else lot.width_m - w - 1.4
    b = lot.depth_m - d - rng.uniform(1.6, 3.2)
    shed = lot.on_ground(box(a, b, a + w, b + d))
    free = lot.shape.buffer(-0.7).contains(shed) and shed.distance(taken(built)) > 0.8
    if free and b > house_back + 3.0:
        built.roofs.append(("shed", shed))
