"""Outlines of the roof shares of many pieces, one after another."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.sides import (
    FROM,
    OWNER,
    PLANE,
    TO,
    add_cut,
    cancel_sides,
    give_sides,
    split_sides,
)
from screening.roofs.kernels.wave import clockwise

TAKEN: Final = -2
"""Plane of a side that an outline has used."""


@compiled
def next_side(side: np.ndarray, count: int, xy: np.ndarray, i: int) -> int:
    """The unused side of the same share that goes on from a side: the first clockwise from its back ray."""
    end = side[i, TO]
    bx = xy[side[i, FROM], 0] - xy[end, 0]
    by = xy[side[i, FROM], 1] - xy[end, 1]
    best = -1
    least = np.inf
    for j in range(count):
        if side[j, FROM] != end or side[j, OWNER] != side[i, OWNER] or side[j, PLANE] == TAKEN:
            continue
        k = side[j, TO]
        angle = clockwise(bx, by, xy[k, 0] - xy[end, 0], xy[k, 1] - xy[end, 1])
        if angle < least:
            least = angle
            best = j
    return best


@compiled
def trace(side: np.ndarray, count: int, xy: np.ndarray, i: int, corner: np.ndarray, at: int) -> int:
    """Write the outline that a side belongs to, not closed; the next free corner."""
    start = side[i, FROM]
    while i >= 0:
        k = side[i, FROM]
        corner[at, 0] = xy[k, 0]
        corner[at, 1] = xy[k, 1]
        at += 1
        side[i, PLANE] = TAKEN
        if side[i, TO] == start:
            return at
        i = next_side(side, count, xy, i)
    return at


@compiled
def lay_down(corner: np.ndarray, start: int, stop: int, x0: float, y0: float) -> float:
    """Move an outline from the local origin to where it lies; its area [m2]."""
    area = 0.0
    x1 = corner[start, 0]
    y1 = corner[start, 1]
    for k in range(start + 1, stop - 1):
        area += 0.5 * (corner[k, 0] - x1) * (corner[k + 1, 1] - y1)
        area -= 0.5 * (corner[k, 1] - y1) * (corner[k + 1, 0] - x1)
    for k in range(start, stop):
        corner[k, 0] += x0
        corner[k, 1] += y0
    return area


@compiled
def outlines_of_all(
    xy: np.ndarray,
    ends: np.ndarray,
    first_edges: np.ndarray,
    owner: np.ndarray,
    cuts: np.ndarray,
    cut_at: np.ndarray,
    nodes: np.ndarray,
    node_offsets: np.ndarray,
    rings: np.ndarray,
    ring_starts: np.ndarray,
    side: np.ndarray,
    local: np.ndarray,
    found: np.ndarray,
    eave: np.ndarray,
    corner: np.ndarray,
    loops: np.ndarray,
    areas: np.ndarray,
) -> int:
    """Outlines of every share; how many.

    Parameters
    ----------
    xy, ends, first_edges
        Corners [m]; the corner at which each edge ends; the first edge of each piece, and N.
    owner, cuts, cut_at
        Owner of each plane before its first cut, counted within the piece, or -1; cuts (edge, owner after it) in order
        along the gutters, piece by piece; the place of each along its edge. [m]
    nodes, node_offsets, rings, ring_starts
        The planes.

    side, local, found, eave
        Working space: sides, nodes, nodes on a cut, and frame of an eave of one piece.
    corner
        Is filled with the corners of the outlines, anticlockwise, holes clockwise, none closed. [m]
    loops, areas
        Are filled with piece, owner and end among the corners of each outline, those of one share one after another;
        area within each, negative for holes. [m2]
    """
    c = 0
    at = int(np.int64(0))
    loop = 0
    for p in range(first_edges.shape[0] - 1):
        a = first_edges[p]
        points = node_offsets[p + 1] - node_offsets[p]
        for i in range(points):
            local[i, 0] = nodes[node_offsets[p] + i, 0]
            local[i, 1] = nodes[node_offsets[p] + i, 1]
        count = int(np.int64(0))
        owners = 0
        for e in range(a, first_edges[p + 1]):
            for i in range(ring_starts[e], ring_starts[e + 1]):
                side[count, FROM] = rings[i]
                side[count, TO] = rings[i + 1 if i + 1 < ring_starts[e + 1] else ring_starts[e]]
                side[count, PLANE] = e
                side[count, OWNER] = owner[e]
                owners = max(owners, owner[e] + 1)
                count += 1
        first = c
        for step in range(2):
            c = first
            while c < cuts.shape[0] and cuts[c, 0] < first_edges[p + 1]:
                e = cuts[c, 0]
                along = np.hypot(xy[ends[e], 0] - xy[e, 0], xy[ends[e], 1] - xy[e, 1])
                eave[0] = xy[e, 0] - xy[a, 0]
                eave[1] = xy[e, 1] - xy[a, 1]
                eave[2] = (xy[ends[e], 0] - xy[e, 0]) / along
                eave[3] = (xy[ends[e], 1] - xy[e, 1]) / along
                if step == 0:
                    count, points = split_sides(side, count, local, points, e, eave, cut_at[c])
                else:
                    again = c > first and cuts[c - 1, 0] == e
                    before = cuts[c - 1, 1] if again else owner[e]
                    give_sides(side, count, local, e, eave, cut_at[c], cuts[c, 1])
                    count = add_cut(side, count, local, e, eave, cut_at[c], before, cuts[c, 1], found)
                    owners = max(owners, cuts[c, 1] + 1)
                c += 1
        cancel_sides(side, count)
        for q in range(owners):
            for i in range(count):
                if side[i, OWNER] == q and side[i, PLANE] != TAKEN:
                    start = at
                    at = trace(side, count, local, i, corner, at)
                    areas[loop] = lay_down(corner, start, at, xy[a, 0], xy[a, 1])
                    loops[loop, 0] = p
                    loops[loop, 1] = q
                    loops[loop, 2] = at
                    loop += 1
    return loop
