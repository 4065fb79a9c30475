"""The sides of roofs, and which of them end a gable roof's ridges, told from the footprint alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints

__all__ = ["Sides", "gable_edges", "roof_sides"]

STRAIGHT_DEG: Final = 5.0
"""Edges that turn less than this are one side."""
JOG_M: Final = 1.0
"""Corners with sides shorter than this between them count as one [m]."""
SQUARE_DEG: Final = (60.0, 120.0)
"""A gable's corners turn by this much."""
EQUAL_SHARE: Final = 0.01
"""Sides that differ by less than this are equal; the one more nearly north to south then counts as the shorter."""


@dataclass(frozen=True, eq=False)
class Sides:
    """Sides of outer rings, roof by roof: runs of edges between corners, jogs overlooked.

    Parameters
    ----------
    offsets
        First side of each roof, and their number.
    length_m, north
        Length of each [m]; how nearly it runs north to south, 0 to 1.
    turn_deg
        By how much the corner at its start turns left.
    of_edge
        Side of each edge, -1 on holes and on roofs without corners.
    """

    offsets: NDArray[np.int64]
    length_m: NDArray[np.float64]
    north: NDArray[np.float64]
    turn_deg: NDArray[np.float64]
    of_edge: NDArray[np.int64]

    def beside(self, step: int) -> NDArray[np.int64]:
        """Number of the side so many steps on from each, around its roof."""
        roof = np.repeat(np.arange(len(self.offsets) - 1), np.diff(self.offsets))
        first, count = self.offsets[roof], np.diff(self.offsets)[roof]
        return np.asarray((np.arange(len(roof)) - first + step) % count + first, np.int64)


def roof_sides(feet: Footprints) -> Sides:
    """Find the sides of every roof.

    Parameters
    ----------
    feet
        Footprints of whole roofs.
    """
    corner, turn = _corners(feet)
    offsets = np.searchsorted(corner, feet.edge_offsets)
    sides = Sides(offsets, np.empty(0), np.empty(0), turn, np.empty(0, np.int64))
    along = feet.xy_m[corner[sides.beside(1)]] - feet.xy_m[corner]
    length = np.hypot(*along.T)
    north = np.abs(along[:, 1]) / np.where(length > 0.0, length, 1.0)
    of_edge = np.searchsorted(corner, np.arange(len(feet.xy_m)), side="right") - 1
    start, stop = offsets[feet.piece_of_edge], offsets[feet.piece_of_edge + 1]
    of_edge = np.where(of_edge < start, stop - 1, of_edge)
    of_edge = np.where((stop > start) & ~feet.on_hole, of_edge, -1)
    return Sides(offsets, length, north, turn, of_edge)


def gable_edges(feet: Footprints, sides: Sides) -> NDArray[np.bool_]:
    """Find the edges that end a ridge.

    A side ends a ridge when both its corners are convex and about square, and each neighbouring side is longer than it
    or leads to a corner that turns back (the side then ends a wing). On a rectangle these are the two short sides.

    Parameters
    ----------
    feet
        Footprints of whole roofs.
    sides
        Their sides.

    Returns
    -------
    numpy.ndarray
        Whether each edge is a gable, shape (N,).
    """
    before, after, second = sides.beside(-1), sides.beside(1), sides.beside(2)
    turn = sides.turn_deg
    square = (turn >= SQUARE_DEG[0]) & (turn <= SQUARE_DEG[1])
    gable = square & square[after] & (np.repeat(np.diff(sides.offsets), np.diff(sides.offsets)) >= 4)
    for other, beyond in ((before, before), (after, second)):
        gable &= _shorter(sides, other) | (turn[beyond] < 0.0)
    known = sides.of_edge >= 0
    edges = np.zeros(len(feet.xy_m), dtype=bool)
    edges[known] = gable[sides.of_edge[known]]
    return edges


def _shorter(sides: Sides, other: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether each side is the shorter of it and another; of equal ones the one more nearly north to south."""
    length, beside = sides.length_m, sides.length_m[other]
    equal = np.abs(length - beside) <= EQUAL_SHARE * np.maximum(length, beside)
    return np.where(equal, sides.north > sides.north[other], length < beside)


def _corners(feet: Footprints) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Corners of outer rings, and by how many degrees each turns left.

    Corners with sides shorter than JOG_M between them count as one, at the first of them; where they turn nowhere
    together, as at a jog, there is none.
    """
    along = feet.xy_m[feet.ends] - feet.xy_m
    before = along[feet.befores]
    turn = np.degrees(
        np.arctan2(before[:, 0] * along[:, 1] - before[:, 1] * along[:, 0], np.sum(before * along, axis=1))
    )
    corner = np.flatnonzero(~feet.on_hole & (np.abs(turn) >= STRAIGHT_DEG))
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
