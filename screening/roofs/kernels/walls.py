"""Which edges of a roof are gables, and which edges of its pieces are gables or party walls."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.gutters import turn_between

STRAIGHT_RAD: Final = 0.08726646259971647
"""Edges that turn less than 5 degrees are one side."""
SQUARE_LOW_RAD: Final = 1.0471975511965976
"""A gable's corners turn by 60 degrees at least,"""
SQUARE_HIGH_RAD: Final = 2.0943951023931953
"""and by 120 at most."""
EQUAL_SHARE: Final = 0.01
"""Sides that differ by less than this are equal; the one more nearly north to south then is the shorter."""
ON_EDGE_M: Final = 0.005
"""An edge of a piece this near to an edge of its roof is part of it (pieces are cut on a grid of 1 mm)."""


@compiled
def shorter(length: np.ndarray, north: np.ndarray, a: int, b: int) -> bool:
    """Whether side a is the shorter of two."""
    if abs(length[a] - length[b]) > EQUAL_SHARE * max(length[a], length[b]):
        return bool(length[a] < length[b])
    return bool(north[a] > north[b])


@compiled
def gables_of_ring(xy: np.ndarray, gable: np.ndarray) -> None:
    """Mark the edges of an outer ring that end a ridge.

    A side ends a ridge when both its corners are convex and about square, and each neighbouring side is longer than
    it or leads to a corner that turns back (the side then ends a wing).
    """
    n = xy.shape[0]
    start = np.empty(n, np.int64)
    angle = np.empty(n)
    k = 0
    for i in range(n):
        turn = turn_between(xy, (i - 1 + n) % n, i, (i + 1) % n)
        if abs(turn) >= STRAIGHT_RAD:
            start[k] = i
            angle[k] = turn
            k += 1
    if k < 4:
        return
    length = np.empty(k)
    north = np.empty(k)
    for s in range(k):
        a = start[s]
        b = start[(s + 1) % k]
        dx = xy[b, 0] - xy[a, 0]
        dy = xy[b, 1] - xy[a, 1]
        length[s] = np.sqrt(dx * dx + dy * dy)
        north[s] = abs(dy) / length[s]
    for s in range(k):
        before = (s - 1 + k) % k
        after = (s + 1) % k
        if not SQUARE_LOW_RAD <= angle[s] <= SQUARE_HIGH_RAD or not SQUARE_LOW_RAD <= angle[after] <= SQUARE_HIGH_RAD:
            continue
        first = angle[before] < 0.0 or shorter(length, north, s, before)
        second = angle[(s + 2) % k] < 0.0 or shorter(length, north, s, after)
        if first and second:
            i = start[s]
            while i != start[after]:
                gable[i] = 1
                i = (i + 1) % n


@compiled
def gables_of_all(xy: np.ndarray, ring_offsets: np.ndarray, roof_offsets: np.ndarray, wanted: np.ndarray) -> np.ndarray:
    """For each edge of all roofs 1 when it is a gable; ``wanted`` is 1 for roofs that have gables."""
    gable = np.zeros(xy.shape[0], np.int64)
    for p in range(roof_offsets.shape[0] - 1):
        if wanted[p] == 1:
            a = ring_offsets[roof_offsets[p]]
            b = ring_offsets[roof_offsets[p] + 1]
            gables_of_ring(xy[a:b], gable[a:b])
    return gable


@compiled
def edge_at(xy: np.ndarray, rings: np.ndarray, x: float, y: float) -> int:
    """The edge of a roof that a point lies on, or -1."""
    best = -1
    least = ON_EDGE_M * ON_EDGE_M
    for r in range(rings.shape[0] - 1):
        for i in range(rings[r], rings[r + 1]):
            j = i + 1 if i + 1 < rings[r + 1] else rings[r]
            dx = xy[j, 0] - xy[i, 0]
            dy = xy[j, 1] - xy[i, 1]
            f = ((x - xy[i, 0]) * dx + (y - xy[i, 1]) * dy) / (dx * dx + dy * dy)
            f = min(max(f, 0.0), 1.0)
            d = (xy[i, 0] + f * dx - x) ** 2 + (xy[i, 1] + f * dy - y) ** 2
            if d < least:
                least = d
                best = i
    return best


@compiled
def within(xy: np.ndarray, rings: np.ndarray, x: float, y: float) -> bool:
    """Whether a point lies inside a roof."""
    inside = False
    for r in range(rings.shape[0] - 1):
        for i in range(rings[r], rings[r + 1]):
            j = i + 1 if i + 1 < rings[r + 1] else rings[r]
            if (xy[i, 1] > y) != (xy[j, 1] > y):
                at = xy[i, 0] + (y - xy[i, 1]) / (xy[j, 1] - xy[i, 1]) * (xy[j, 0] - xy[i, 0])
                if x < at:
                    inside = not inside
    return inside


@compiled
def walls_of_all(
    xy: np.ndarray,
    ring_offsets: np.ndarray,
    piece_offsets: np.ndarray,
    roof_of: np.ndarray,
    roof_xy: np.ndarray,
    roof_ring_offsets: np.ndarray,
    roof_offsets: np.ndarray,
    roof_gable: np.ndarray,
    beyond_m: float,
) -> tuple[np.ndarray, np.ndarray]:
    """Gables and party walls of all roof pieces.

    An edge that lies on its roof's outline is what the roof's edge is. Any other was cut by a lot line: a party wall
    when the roof goes on for ``beyond_m`` behind it, else an eave that hangs over the line.

    Returns
    -------
    tuple
        For each edge 1 when it is a gable; 1 when it is a party wall.
    """
    gable = np.zeros(xy.shape[0], np.int64)
    party = np.zeros(xy.shape[0], np.int64)
    for p in range(piece_offsets.shape[0] - 1):
        q = roof_of[p]
        a = roof_ring_offsets[roof_offsets[q]]
        b = roof_ring_offsets[roof_offsets[q + 1]]
        rings = roof_ring_offsets[roof_offsets[q] : roof_offsets[q + 1] + 1] - a
        for r in range(piece_offsets[p], piece_offsets[p + 1]):
            for i in range(ring_offsets[r], ring_offsets[r + 1]):
                j = i + 1 if i + 1 < ring_offsets[r + 1] else ring_offsets[r]
                x = 0.5 * (xy[i, 0] + xy[j, 0])
                y = 0.5 * (xy[i, 1] + xy[j, 1])
                e = edge_at(roof_xy[a:b], rings, x, y)
                if e >= 0:
                    gable[i] = roof_gable[a + e]
                    continue
                dx = xy[j, 0] - xy[i, 0]
                dy = xy[j, 1] - xy[i, 1]
                length = np.sqrt(dx * dx + dy * dy)
                if within(roof_xy[a:b], rings, x + beyond_m * dy / length, y - beyond_m * dx / length):
                    party[i] = 1
    return gable, party


@compiled
def snap_to_eaves(
    x: np.ndarray,
    y: np.ndarray,
    piece: np.ndarray,
    xy: np.ndarray,
    ring_offsets: np.ndarray,
    piece_offsets: np.ndarray,
    eave: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """For each point the nearest eave of its piece, numbered within the piece (-1 if none), and the place along it."""
    edge = np.full(x.shape[0], -1, np.int64)
    at = np.zeros(x.shape[0])
    for k in range(x.shape[0]):
        least = np.inf
        first = ring_offsets[piece_offsets[piece[k]]]
        for r in range(piece_offsets[piece[k]], piece_offsets[piece[k] + 1]):
            for i in range(ring_offsets[r], ring_offsets[r + 1]):
                if eave[i] == 0:
                    continue
                j = i + 1 if i + 1 < ring_offsets[r + 1] else ring_offsets[r]
                dx = xy[j, 0] - xy[i, 0]
                dy = xy[j, 1] - xy[i, 1]
                length = np.sqrt(dx * dx + dy * dy)
                s = min(max(((x[k] - xy[i, 0]) * dx + (y[k] - xy[i, 1]) * dy) / length, 0.0), length)
                d = (xy[i, 0] + s * dx / length - x[k]) ** 2 + (xy[i, 1] + s * dy / length - y[k]) ** 2
                if d < least - 1e-12:
                    least = d
                    edge[k] = i - first
                    at[k] = s
    return edge, at
