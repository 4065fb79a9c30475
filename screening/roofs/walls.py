"""Gables and party walls of roof pieces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints, ranges
from screening.roofs.pieces import SLIVER_M

__all__ = ["ABUTS_M", "ON_EDGE_M", "TOUCHES_M", "Walls", "find_walls"]

ABUTS_M: Final = 0.3
"""A roof beyond the lot line that is nearer than this to an edge's middle abuts it: a party wall [m]."""
TOUCHES_M: Final = 0.05
"""A roof on the same lot that is nearer than this to an edge touches it: the two were drawn side on side [m]."""
LEANS_SHARE: Final = 0.5
"""A roof smaller than this share of the one it touches leans on it, as a porch does: the larger drips there [1]."""
ON_EDGE_M: Final = 0.005
"""An edge of a piece this near to its roof's outline is part of it (pieces are cut on a grid of 1 mm) [m]."""


@dataclass(frozen=True, eq=False)
class Walls:
    """Whether each edge of the pieces is a gable; whether it is a party wall."""

    gable: NDArray[np.bool_]
    party: NDArray[np.bool_]

    @property
    def speed(self) -> NDArray[np.float64]:
        """Speed of each edge's front: 0 for gables and party walls."""
        return np.where(self.gable | self.party, 0.0, 1.0)


def find_walls(
    pieces: Footprints,
    roof_of: NDArray[np.int64],
    whole: NDArray[np.bool_],
    lots: NDArray[Any],
    roofs: NDArray[Any],
    roof_feet: Footprints,
    part_of: NDArray[np.int64],
    roof_gable: NDArray[np.bool_],
) -> Walls:
    """Find which edges of roof pieces stand still.

    Gables are those of the whole roof, found before it is cut. Party walls are edges on a lot line that cut the roof,
    and edges at which another roof stands wall to wall beyond the lot line. A cut edge behind which little of the roof
    is left is an eave (or a gable) that hangs over the line. Where a house is drawn as several roofs that touch, the
    edges between them are party walls too; a roof that leans on a much larger one has such a wall, the larger has none.

    Parameters
    ----------
    pieces
        The pieces.
    roof_of
        Row number of each piece's roof, shape (P,).
    whole
        Whether each piece is its whole roof, shape (P,).
    lots
        The lot of each piece, shape (P,).
    roofs
        Polygons of all roofs around, shape (R,).
    roof_feet, part_of
        Their footprints, and the row number of the roof that each is part of, rising.
    roof_gable
        Whether each edge of these is a gable.
    """
    gable, party = np.zeros((2, len(pieces.xy_m)), dtype=bool)
    first = np.searchsorted(part_of, np.arange(len(roofs) + 1))
    same = whole & (np.diff(first)[roof_of] == 1)
    edges = ranges(pieces.edge_offsets[:-1][same], pieces.edge_offsets[1:][same])
    parts = first[roof_of[same]]
    gable[edges] = roof_gable[ranges(roof_feet.edge_offsets[parts], roof_feet.edge_offsets[parts + 1])]
    edges = np.flatnonzero(~same[pieces.piece_of_edge])
    if len(edges):
        lines = _gable_lines(roof_feet, part_of, roof_gable, len(roofs))
        gable[edges], party[edges] = _cut_edges(pieces, edges, roof_of[pieces.piece_of_edge[edges]], roofs, lines)
    party |= _abutting(pieces, roof_of, roofs, lots)
    return Walls(gable & ~party, party)


def _middles(pieces: Footprints, edges: NDArray[np.int64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Middle of each edge [m] and its unit normal outward."""
    start, end = pieces.xy_m[edges], pieces.xy_m[pieces.ends[edges]]
    along = end - start
    outward = np.column_stack([along[:, 1], -along[:, 0]]) / np.hypot(*along.T)[:, np.newaxis]
    return 0.5 * (start + end), outward


def _gable_lines(feet: Footprints, part_of: NDArray[np.int64], gable: NDArray[np.bool_], count: int) -> NDArray[Any]:
    """The gables of each roof as lines, None where it has none."""
    lines: NDArray[Any] = np.full(count, None, dtype=object)
    edges = np.flatnonzero(gable)
    if len(edges):
        ends = np.stack([feet.xy_m[edges], feet.xy_m[feet.ends[edges]]], axis=1)
        roof, index = np.unique(part_of[feet.piece_of_edge[edges]], return_inverse=True)
        lines[roof] = shapely.multilinestrings(np.asarray(shapely.linestrings(ends)), indices=index)
    return lines


def _cut_edges(
    pieces: Footprints,
    edges: NDArray[np.int64],
    roof_of: NDArray[np.int64],
    roofs: NDArray[Any],
    gable_lines: NDArray[Any],
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Whether each edge of pieces that are not whole roofs is a gable, and whether a party wall."""
    middle, outward = _middles(pieces, edges)
    used, row = np.unique(roof_of, return_inverse=True)
    points = np.asarray(shapely.points(middle))
    on = shapely.distance(points, shapely.boundary(roofs[used])[row]) <= ON_EDGE_M
    beyond = middle + SLIVER_M * outward
    party = ~on & shapely.contains_xy(roofs[roof_of], beyond[:, 0], beyond[:, 1])
    away = shapely.distance(points, gable_lines[roof_of])
    return away <= np.where(on, ON_EDGE_M, SLIVER_M + ON_EDGE_M), party


def _abutting(
    pieces: Footprints, roof_of: NDArray[np.int64], roofs: NDArray[Any], lots: NDArray[Any]
) -> NDArray[np.bool_]:
    """Edges at which another roof begins at once: behind the middle off the piece's own lot, or all along on it."""
    party = np.zeros(len(pieces.xy_m), dtype=bool)
    tree = shapely.STRtree(roofs)
    boxes = shapely.bounds(roofs[roof_of])
    near = shapely.box(*(boxes + np.array([-ABUTS_M, -ABUTS_M, ABUTS_M, ABUTS_M])).T)
    piece, roof = tree.query(near)
    piece = np.unique(piece[roof != roof_of[piece]])
    edges = np.flatnonzero(np.isin(pieces.piece_of_edge, piece))
    if not len(edges):
        return party
    middle, outward = _middles(pieces, edges)
    beyond = np.asarray(shapely.points(middle + ABUTS_M * outward))
    point, roof = tree.query(beyond, predicate="intersects")
    owner = pieces.piece_of_edge[edges[point]]
    other = (roof != roof_of[owner]) & ~shapely.intersects(lots[owner], beyond[point])
    party[edges[point[other]]] = True
    touched = np.unique(edges[point[roof != roof_of[owner]]])
    return party | _touching(pieces, touched, roof_of, tree, lots)


def _touching(
    pieces: Footprints,
    edges: NDArray[np.int64],
    roof_of: NDArray[np.int64],
    tree: shapely.STRtree,
    lots: NDArray[Any],
) -> NDArray[np.bool_]:
    """Which of some edges another roof touches on the piece's own lot, from a quarter to three of their length."""
    party = np.zeros(len(pieces.xy_m), dtype=bool)
    if not len(edges):
        return party
    middle, outward = _middles(pieces, edges)
    quarter = 0.25 * (pieces.xy_m[pieces.ends[edges]] - pieces.xy_m[edges])
    beyond = np.stack([middle + step * quarter for step in (-1.0, 0.0, 1.0)]) + TOUCHES_M * outward
    points = np.asarray(shapely.points(beyond)).ravel()
    owner = np.tile(pieces.piece_of_edge[edges], 3)
    area = shapely.area(tree.geometries)
    point, roof = tree.query(points, predicate="intersects")
    own = roof_of[owner[point]]
    held = (roof != own) & (area[roof] >= LEANS_SHARE * area[own])
    held &= shapely.intersects(lots[owner[point]], points[point])
    met = np.zeros(len(points), dtype=bool)
    met[point[held]] = True
    party[edges[met.reshape(3, -1).all(axis=0)]] = True
    return party
