"""The gutters of roof pieces: runs of eaves, followed anticlockwise, and the corners where downspouts would stand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints, last_at_most, running_sums

__all__ = [
    "CORNER_M",
    "COURT",
    "EAVE",
    "GABLE",
    "PARTY",
    "SHORT_M",
    "Gutters",
    "corner_places",
    "follow_gutters",
    "link_at",
]

EAVE: Final = 0
"""An outer eave: it carries a gutter."""
COURT: Final = 1
"""An eave over an inner court: not led."""
GABLE: Final = 2
"""A motionless edge that is an outside wall."""
PARTY: Final = 3
"""A party wall, motionless or not: no gutter."""

SHORT_M: Final = 1.5
"""Sides shorter than this make one corner with what is beside them: jogs, bays and chamfers get no downspout [m]."""
CORNER_M: Final = 1e-6
"""A place this near to a corner is at it [m]."""
CORNER_DEG: Final = 50.0
"""A corner for a downspout turns by this much or more."""


@dataclass(frozen=True, eq=False)
class Gutters:
    """Gutters of many pieces, piece by piece; each is a run of *links*, eaves in their order.

    Parameters
    ----------
    edge
        Edge of each link, shape (K,).
    offsets
        First link of each gutter, and K.
    piece
        Piece of each gutter.
    closed
        Whether each goes right round its piece.
    party_first, party_last
        Whether a party wall stands at its start, at its end.
    start_m, length_m
        Length before each link; length of each gutter. [m]
    """

    edge: NDArray[np.int64]
    offsets: NDArray[np.int64]
    piece: NDArray[np.int64]
    closed: NDArray[np.bool_]
    party_first: NDArray[np.bool_]
    party_last: NDArray[np.bool_]
    start_m: NDArray[np.float64]
    length_m: NDArray[np.float64]

    @property
    def of_link(self) -> NDArray[np.int64]:
        """Gutter of each link."""
        return np.repeat(np.arange(len(self.piece)), np.diff(self.offsets))


def follow_gutters(feet: Footprints, kind: NDArray[np.int64]) -> Gutters:
    """Follow the gutters of every piece, from its southernmost corner (the westernmost of these) on.

    Parameters
    ----------
    feet
        The pieces.
    kind
        EAVE, COURT, GABLE or PARTY for each edge.
    """
    outer = np.flatnonzero(~feet.on_hole)
    piece = feet.piece_of_edge[outer]
    first = np.searchsorted(piece, np.arange(len(feet) + 1))
    size = np.diff(first)[piece]
    place = np.arange(len(outer)) - first[piece]
    x, y = feet.xy_m[outer].T
    south = np.minimum.reduceat(y, first[:-1])[piece]
    west = np.where(y <= south + 1e-9, x, np.inf)
    corner = np.lexsort((place, west, piece))[first[:-1]]
    step = (place - place[corner][piece]) % size
    eave = kind[outer] == EAVE
    wall = np.where(eave, size, step)
    turn = np.minimum.reduceat(wall, first[:-1])[piece] % size
    order = np.empty(len(outer), np.int64)
    order[first[piece] + (step - turn) % size] = np.arange(len(outer))
    edge, eave, piece = outer[order], eave[order], piece[order]
    before = np.roll(eave, 1) & (np.roll(piece, 1) == piece) & (place > 0)
    links = np.flatnonzero(eave)
    begins = np.flatnonzero((eave & ~before)[links])
    offsets = np.append(begins, len(links))
    edge = edge[links]
    along = np.hypot(*(feet.xy_m[feet.ends[edge]] - feet.xy_m[edge]).T)
    start = running_sums(along, offsets)
    heads, tails = edge[offsets[:-1]], edge[offsets[1:] - 1]
    return Gutters(
        edge,
        offsets,
        feet.piece_of_edge[heads],
        kind[feet.befores[heads]] == EAVE,
        kind[feet.befores[heads]] == PARTY,
        kind[feet.ends[tails]] == PARTY,
        start,
        (start + along)[offsets[1:] - 1],
    )


def corner_places(feet: Footprints, gutters: Gutters) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Corners along gutters where a builder would put a downspout: gutter, and place along it [m].

    Corners with sides shorter than SHORT_M between them count as one, by the sum of their turns and at the sharpest: a
    jog turns nowhere, a chamfered corner turns as much as a square one.
    """
    edge, first = gutters.edge, gutters.offsets[:-1]
    gutter = gutters.of_link
    along = feet.xy_m[feet.ends] - feet.xy_m
    length = np.hypot(*along.T)
    u, v = along[feet.befores[edge]], along[edge]
    turn = np.degrees(np.arctan2(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0], np.sum(u * v, axis=1)))
    head = np.zeros(len(edge), dtype=bool)
    head[first] = True
    inner = ~head | gutters.closed[gutter]
    new = (length[feet.befores[edge]] >= SHORT_M) | head
    new[first] &= ~gutters.closed | (length[feet.befores[edge[first]]] >= SHORT_M)
    made = np.concatenate([[0], np.cumsum(new)])
    low, high = made[first][gutter], made[gutters.offsets[1:]][gutter]
    group = np.where(made[1:] > low, made[1:], np.maximum(high, low + 1)) - 1
    group = group + (len(edge) + 1) * gutter
    group, turn, link = group[inner], turn[inner], np.flatnonzero(inner)
    order = np.lexsort((link, -turn, group))
    groups, sharpest, index = np.unique(group[order], return_index=True, return_inverse=True)
    total = np.bincount(index.reshape(-1), weights=turn[order], minlength=len(groups))
    link = link[order][sharpest[total >= CORNER_DEG]]
    return gutter[link], gutters.start_m[link]


def link_at(gutters: Gutters, gutter: NDArray[np.int64], at_m: NDArray[np.float64]) -> NDArray[np.int64]:
    """Link on which places along gutters lie; a place at a corner lies on the link that starts there."""
    link = last_at_most(gutters.start_m, gutters.offsets, gutter, at_m + CORNER_M)
    return np.maximum(link, gutters.offsets[gutter])
