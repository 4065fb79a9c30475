"""The whole neighbourhood, from the plan to what stands on it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Point, Polygon

from scripts.demo_area_maker import drains, trees
from scripts.demo_area_maker.houses import build, build_twins
from scripts.demo_area_maker.lot import Built, Lot, lot_frame
from scripts.demo_area_maker.pads import shared_lines, with_pads, with_swales
from scripts.demo_area_maker.plan import plan_lots, shared_vertices, street_lines
from scripts.demo_area_maker.relief import PAVED_HALF_M, Frame, frame_around, natural_ground, with_roads
from scripts.demo_area_maker.underground import Underground, underground
from scripts.demo_area_maker.warp import shape_to_ground


@dataclass(frozen=True)
class Neighbourhood:
    """What there is, before anybody measured it; coordinates in metres from the middle."""

    seed: int
    frame: Frame
    ground: NDArray[np.float64]
    streets: list[tuple[str, LineString]]
    lots: list[Lot]
    built: list[Built]
    underground: Underground
    trees: list[trees.Tree]
    inlets: list[Point]
    avoid: list[dict[str, object]]

    @property
    def roofs(self) -> list[tuple[str, Polygon, bool | None]]:
        """Kind, outline and basement of every roof."""
        return [
            (kind, roof, built.basement if kind == "house" else None)
            for built in self.built
            for kind, roof in built.roofs
        ]


def twin_pairs(lots: list[Lot]) -> dict[int, int]:
    """The second lot of each pair of twins by the first."""
    pairs: dict[int, int] = {}
    taken: set[int] = set()
    for one, two in pairwise(lots):
        same = one.plan.kind == two.plan.kind == "twin" and one.plan.block == two.plan.block
        if same and one.number not in taken:
            pairs[one.number] = two.number
            taken |= {one.number, two.number}
    return pairs


def build_all(lots: list[Lot], seed: int) -> list[Built]:
    """What stands on every lot."""
    pairs = twin_pairs(lots)
    built: dict[int, Built] = {}
    for lot in lots:
        if lot.number in built:
            continue
        if lot.number in pairs:
            other = lots[pairs[lot.number]]
            built[lot.number], built[other.number] = build_twins(lot, other, seed)
        else:
            built[lot.number] = build(lot, seed)
    return [built[lot.number] for lot in lots]


def make_neighbourhood(seed: int) -> Neighbourhood:
    """Draw the neighbourhood of a seed."""
    plan = plan_lots(seed)
    shapes = [shape_to_ground(shape) for shape in shared_vertices([lot.shape for lot in plan])]
    lots = [lot_frame(number, lot, shape) for number, (lot, shape) in enumerate(zip(plan, shapes, strict=True))]
    streets = street_lines()
    frame = frame_around([lot.shape for lot in lots])
    built = build_all(lots, seed)
    roads = with_roads(frame, natural_ground(frame, seed), streets)
    roofs = [roof for b in built for roof in b.roofs]
    padded = with_pads(frame, roads, roofs, seed)
    ground = with_swales(frame, padded, shared_lines([lot.shape for lot in lots]), [roof for _, roof in roofs])
    stands = shapely.union_all([shape for b in built for _, shape in b.roofs + b.paved])
    ways = shapely.union_all([line.buffer(PAVED_HALF_M + 0.6) for _, line in streets])
    houses = shapely.union_all([roof for _, roof in roofs])
    blocked = stands.union(ways)
    all_trees = trees.yard_trees(lots, blocked, seed) + trees.street_trees(streets, blocked, seed)
    all_trees += trees.wood(frame, lots, ways.buffer(4.0), houses, seed)
    return Neighbourhood(
        seed=seed,
        frame=frame,
        ground=ground,
        streets=streets,
        lots=lots,
        built=built,
        underground=underground(lots, built, seed),
        trees=all_trees,
        inlets=drains.inlets(frame, ground, streets),
        avoid=drains.keep_out(lots, houses, seed),
    )
