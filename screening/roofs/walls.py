"""Gables and party walls of roof pieces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints
from screening.roofs.gables import gable_edges
from screening.roofs.pieces import SLIVER_M

__all__ = ["ABUTS_M", "ON_EDGE_M", "Walls", "find_walls"]

ABUTS_M: Final = 0.3
"""A roof beyond the lot line that is nearer than this to an edge's middle abuts it: a party wall [m]."""
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
    roofs: NDArray[Any],
    lots: NDArray[Any],
    has_gables: NDArray[np.bool_],
) -> Walls:
    """Find which edges of roof pieces stand still.

    Gables are the ends of wings of the whole roof, found before it is cut. Party walls are edges on a lot line that
    cut the roof, and edges at which another roof stands wall to wall beyond the lot line. A cut edge behind which
    little of the roof is left is an eave (or a gable) that hangs over the line.

    Parameters
    ----------
    pieces
        The pieces.
    roof_of
        Row number of each piece's roof, shape (P,).
    whole
        Whether each piece is its whole roof, shape (P,).
    roofs
        Polygons of all roofs around, shape (R,).
    lots
        The lot of each piece, shape (P,).
    has_gables
        Whether each roof has gables, shape (R,).
    """
    gable = gable_edges(pieces, whole & has_gables[roof_of])
    party = np.zeros(len(gable), dtype=bool)
    edges = np.flatnonzero(~whole[pieces.piece_of_edge])
    if len(edges):
        middle, outward = _middles(pieces, edges)
        gable[edges], party[edges] = _cut_edges(
            middle, outward, roof_of[pieces.piece_of_edge[edges]], roofs, has_gables
        )
    party |= _abutting(pieces, roof_of, roofs, lots)
    return Walls(gable & ~party, party)


def _middles(pieces: Footprints, edges: NDArray[np.int64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Middle of each edge [m] and its unit normal outward."""
    start, end = pieces.xy_m[edges], pieces.xy_m[pieces.ends[edges]]
    along = end - start
    outward = np.column_stack([along[:, 1], -along[:, 0]]) / np.hypot(*along.T)[:, np.newaxis]
    return 0.5 * (start + end), outward


def _cut_edges(
    middle: NDArray[np.float64],
    outward: NDArray[np.float64],
    roof_of: NDArray[np.int64],
    roofs: NDArray[Any],
    has_gables: NDArray[np.bool_],
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Whether each edge of pieces that are not whole roofs is a gable, and whether a party wall."""
    used, row = np.unique(roof_of, return_inverse=True)
    points = np.asarray(shapely.points(middle))
    on = shapely.distance(points, shapely.boundary(roofs[used])[row]) <= ON_EDGE_M
    beyond = middle + SLIVER_M * outward
    party = ~on & shapely.contains_xy(roofs[roof_of], beyond[:, 0], beyond[:, 1])
    parts, part_of = shapely.get_parts(roofs[used], return_index=True)
    feet = Footprints.from_polygons(parts)
    gables = np.flatnonzero(gable_edges(feet, has_gables[used][part_of]))
    lines: NDArray[Any] = np.full(len(used), None, dtype=object)
    if len(gables):
        ends = np.stack([feet.xy_m[gables], feet.xy_m[feet.ends[gables]]], axis=1)
        with_gables, index = np.unique(part_of[feet.piece_of_edge[gables]], return_inverse=True)
        lines[with_gables] = shapely.multilinestrings(np.asarray(shapely.linestrings(ends)), indices=index)
    away = shapely.distance(points, lines[row])
    return away <= np.where(on, ON_EDGE_M, SLIVER_M + ON_EDGE_M), party


def _abutting(
    pieces: Footprints, roof_of: NDArray[np.int64], roofs: NDArray[Any], lots: NDArray[Any]
) -> NDArray[np.bool_]:
    """Edges behind whose middle another roof begins at once, off the piece's own lot."""
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
    return party
