"""Gables and party walls of roof pieces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints
from screening.roofs.kernels.walls import gables_of_all, walls_of_all
from screening.roofs.pieces import SLIVER_M

__all__ = ["ABUTS_M", "Walls", "find_walls"]

ABUTS_M: Final = 0.3
"""A roof beyond the lot line that is nearer than this to an edge's middle abuts it: a party wall [m]."""


@dataclass(frozen=True, eq=False)
class Walls:
    """For each edge of the pieces 1 when it is a gable; 1 when it is a party wall."""

    gable: NDArray[np.int64]
    party: NDArray[np.int64]

    @property
    def speed(self) -> NDArray[np.float64]:
        """Speed of each edge's front: 0 for gables and party walls."""
        return np.where((self.gable == 1) | (self.party == 1), 0.0, 1.0)


def find_walls(
    pieces: Footprints,
    roof_of: NDArray[np.int64],
    roofs: NDArray[Any],
    lots: NDArray[Any],
    roof_kind: NDArray[Any],
) -> Walls:
    """Find which edges of roof pieces stand still.

    Gables are the ends of wings of the whole roof, found before it is cut. Party walls are edges on a lot line that
    cut the roof, and edges at which another roof stands wall to wall beyond the lot line.

    Parameters
    ----------
    pieces
        The pieces.
    roof_of
        Row number of each piece's roof, shape (P,).
    roofs
        Polygons of all roofs around, shape (R,).
    lots
        The lot of each piece, shape (P,).
    roof_kind
        hip, gable or flat for each roof, shape (R,).
    """
    used, roof_of = np.unique(roof_of, return_inverse=True)
    single, parts = shapely.get_parts(roofs[used], return_index=True)
    whole = Footprints.from_polygons(single)
    gables = gables_of_all(
        whole.xy_m, whole.ring_offsets, whole.piece_offsets, (roof_kind[used] == "gable")[parts].astype(np.int64)
    )
    rings_of_roof = whole.piece_offsets[np.searchsorted(parts, np.arange(len(used) + 1))]
    gable, party = walls_of_all(
        pieces.xy_m,
        pieces.ring_offsets,
        pieces.piece_offsets,
        np.asarray(roof_of, np.int64),
        whole.xy_m,
        whole.ring_offsets,
        rings_of_roof,
        gables,
        SLIVER_M,
    )
    party |= _abutting(pieces, used[roof_of], roofs, lots)
    gable[party == 1] = 0
    return Walls(gable, party)


def _abutting(
    pieces: Footprints, roof_of: NDArray[np.int64], roofs: NDArray[Any], lots: NDArray[Any]
) -> NDArray[np.int64]:
    """1 for edges behind whose middle another roof begins at once, off the piece's own lot."""
    party = np.zeros(len(pieces.xy_m), np.int64)
    tree = shapely.STRtree(roofs)
    boxes = shapely.bounds(roofs[roof_of])
    near = shapely.box(*(boxes + np.array([-ABUTS_M, -ABUTS_M, ABUTS_M, ABUTS_M])).T)
    piece, roof = tree.query(near)
    piece = np.unique(piece[roof != roof_of[piece]])
    edges = np.flatnonzero(np.isin(pieces.piece_of_edge, piece))
    if not len(edges):
        return party
    start, end = pieces.xy_m[edges], pieces.xy_m[pieces.ends[edges]]
    along = end - start
    outward = np.column_stack([along[:, 1], -along[:, 0]]) / np.hypot(along[:, 0], along[:, 1])[:, np.newaxis]
    beyond = shapely.points(0.5 * (start + end) + ABUTS_M * outward)
    point, roof = tree.query(beyond, predicate="intersects")
    owner = pieces.piece_of_edge[edges[point]]
    other = (roof != roof_of[owner]) & ~shapely.intersects(lots[owner], beyond[point])
    party[edges[point[other]]] = 1
    return party
