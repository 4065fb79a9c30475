"""Which edges of a gable roof end its ridges, told from the footprint alone."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints

__all__ = ["gable_edges"]

STRAIGHT_DEG: Final = 5.0
"""Edges that turn less than this are one side."""
JOG_M: Final = 1.0
"""Corners with sides shorter than this between them count as one [m]."""
SQUARE_DEG: Final = (60.0, 120.0)
"""A gable's corners turn by this much."""
EQUAL_SHARE: Final = 0.01
"""Sides that differ by less than this are equal; the one more nearly north to south then counts as the shorter."""


def gable_edges(feet: Footprints, wanted: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Find the edges that end a ridge.

    A side of the outer ring ends a ridge when both its corners are convex and about square, and each neighbouring
    side is longer than it or leads to a corner that turns back (the side then ends a wing). On a rectangle these are
    the two short sides.

    Parameters
    ----------
    feet
        Footprints of whole roofs.
    wanted
        Whether each roof has gables, shape (P,).

    Returns
    -------
    numpy.ndarray
        Whether each edge is a gable, shape (N,).
    """
    corner, angle = _corners(feet, ~feet.on_hole & wanted[feet.piece_of_edge])
    piece = feet.piece_of_edge[corner]
    first = np.searchsorted(corner, feet.edge_offsets)
    count = np.diff(first)[piece]
    place = np.arange(len(corner)) - first[piece]
    after, previous, second = ((place + k) % np.maximum(count, 1) + first[piece] for k in (1, -1, 2))
    side = feet.xy_m[corner[after]] - feet.xy_m[corner]
    length = np.hypot(*side.T)
    north = np.abs(side[:, 1]) / np.where(length > 0.0, length, 1.0)
    square = (angle >= SQUARE_DEG[0]) & (angle <= SQUARE_DEG[1])
    ends_wing = [
        _shorter(length, north, length[other], north[other]) | (angle[beyond] < 0.0)
        for other, beyond in ((previous, previous), (after, second))
    ]
    gable_side = square & square[after] & ends_wing[0] & ends_wing[1] & (count >= 4)
    side_of_edge = np.searchsorted(corner, np.arange(len(feet.xy_m)), side="right") - 1
    start, stop = first[feet.piece_of_edge], first[feet.piece_of_edge + 1]
    side_of_edge = np.where(side_of_edge < start, stop - 1, side_of_edge)
    known = (stop > start) & ~feet.on_hole
    gable = np.zeros(len(feet.xy_m), dtype=bool)
    gable[known] = gable_side[side_of_edge[known]]
    return gable


def _corners(feet: Footprints, use: NDArray[np.bool_]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Corners of outer rings, and by how many degrees each turns left.

    Corners with sides shorter than JOG_M between them count as one, at the first of them; where they turn nowhere
    together, as at a jog, there is none.
    """
    along = feet.xy_m[feet.ends] - feet.xy_m
    before = along[feet.befores]
    turn = np.degrees(
        np.arctan2(before[:, 0] * along[:, 1] - before[:, 1] * along[:, 0], np.sum(before * along, axis=1))
    )
    corner = np.flatnonzero(use & (np.abs(turn) >= STRAIGHT_DEG))
    piece = feet.piece_of_edge[corner]
    first = np.searchsorted(corner, feet.edge_offsets)
    place = np.arange(len(corner))
    previous = np.where(place == first[piece], first[piece + 1], place) - 1
    apart = np.hypot(*(feet.xy_m[corner] - feet.xy_m[corner[previous]]).T) >= JOG_M
    made = np.concatenate([[0], np.cumsum(apart)])
    low, high = made[first[piece]], made[first[piece + 1]]
    group = np.where(made[1:] > low, made[1:], high) - 1
    known = high > low
    total = np.bincount(group[known], weights=turn[corner[known]], minlength=int(apart.sum()))
    starts = corner[apart]
    bent = np.abs(total) >= STRAIGHT_DEG
    return starts[bent], np.asarray(total[bent], np.float64)


def _shorter(
    length: NDArray[np.float64],
    north: NDArray[np.float64],
    other: NDArray[np.float64],
    other_north: NDArray[np.float64],
) -> NDArray[np.bool_]:
    """Whether each side is the shorter of two; of equal ones the one more nearly north to south."""
    equal = np.abs(length - other) <= EQUAL_SHARE * np.maximum(length, other)
    return np.where(equal, north > other_north, length < other)
