"""Roof planes of many footprints, one after another, with the steps taken where the first attempt does not hold."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.advance import DONE, STUCK, advance
from screening.roofs.kernels.faces import chain_face, ring_area, ring_simple, unify_nodes
from screening.roofs.kernels.wave import ARCS, BX, BY, NODES, OUT, SPEED, UX, UY, VERTICES, Wave, new_wave

ATTEMPTS: Final = 4
"""Attempts with one set of speeds: 1e-6, 1e-8, 1e-5, 1e-4 m as the distance at which fronts have met."""
ALL_SLOPED: Final = 4
"""Attempt number from which every edge has speed 1."""
NO_PLANES: Final = 8
"""Every attempt failed."""

AREA_TOLERANCE: Final = 1e-10


class Draft(NamedTuple):
    """Planes of one footprint while they are checked: rings of nodes one after another, and working space."""

    ring: Any
    start: Any
    area: Any
    same: Any
    used: Any
    moving: Any


@compiled
def new_draft(n: int) -> Draft:
    """Room for the planes of a footprint with n edges."""
    return Draft(
        np.empty(40 * n + 512, np.int64),
        np.empty(n + 1, np.int64),
        np.empty(n, np.float64),
        np.empty(10 * n + 128, np.int64),
        np.empty((14 * n + 192, 2), np.int64),
        np.empty(10 * n + 128, np.int64),
    )


@compiled
def mark_moving(w: Wave, d: Draft, n: int) -> None:
    """Mark the nodes that belong to a plane."""
    d.moving[: w.count[NODES]] = 0
    for i in range(n):
        if w.line[i, SPEED] > 0.0:
            d.moving[d.same[i]] = 1
    for i in range(w.count[ARCS]):
        if w.line[w.arc[i, 2], SPEED] > 0.0 or w.line[w.arc[i, 3], SPEED] > 0.0:
            d.moving[d.same[w.arc[i, 0]]] = 1
            d.moving[d.same[w.arc[i, 1]]] = 1


@compiled
def heights_hold(w: Wave, tolerance: float) -> bool:
    """Whether each arc's ends are as far from its eaves as the front had come when it got there."""
    for i in range(w.count[ARCS]):
        for s in (2, 3):
            e = w.arc[i, s]
            if w.line[e, SPEED] == 0.0:
                continue
            for end in (0, 1):
                k = w.arc[i, end]
                off = (w.node[k, 1] - w.line[e, BY]) * w.line[e, UX] - (w.node[k, 0] - w.line[e, BX]) * w.line[e, UY]
                if abs(off - w.node[k, 2]) > tolerance:
                    return False
    return True


@compiled
def draft_planes(w: Wave, d: Draft, rings: np.ndarray, eps: float) -> bool:
    """Chain the planes and check them: every arc used, every plane simple and of some area, together the footprint."""
    n = rings[-1]
    if not heights_hold(w, 1e-6 + 20.0 * eps):
        return False
    unify_nodes(w, d.same)
    mark_moving(w, d, n)
    d.used[: w.count[ARCS], :] = 0
    total = 0.0
    footprint = 0.0
    at = 0
    for r in range(rings.shape[0] - 1):
        for e in range(rings[r], rings[r + 1]):
            end = e + 1 if e + 1 < rings[r + 1] else rings[r]
            footprint += 0.5 * (w.node[e, 0] * w.node[end, 1] - w.node[end, 0] * w.node[e, 1])
            d.start[e] = at
            d.area[e] = 0.0
            if w.line[e, SPEED] == 0.0:
                continue
            ring = d.ring[at:]
            size = chain_face(w, e, end, ring, d.used, d.same, d.moving)
            if size < 3 or not ring_simple(w.node, ring, size):
                return False
            d.area[e] = ring_area(w.node, ring, size)
            if d.area[e] <= 0.0:
                return False
            total += d.area[e]
            at += size
    d.start[n] = at
    for i in range(w.count[ARCS]):
        left = w.line[w.arc[i, 2], SPEED] == 0.0 or d.used[i, 0] == 1
        if not left or not (w.line[w.arc[i, 3], SPEED] == 0.0 or d.used[i, 1] == 1):
            return False
    return abs(total - footprint) <= AREA_TOLERANCE * footprint


@compiled
def promote(w: Wave, speed: np.ndarray, party: np.ndarray) -> bool:
    """Give speed 1 to the motionless edges that are left, gables before party walls; False when there are none."""
    n = speed.shape[0]
    for wanted in (0, 1):
        found = False
        for v in range(w.count[VERTICES]):
            e = w.source[w.link[v, OUT]]
            if e < n and speed[e] == 0.0 and party[e] == wanted:
                speed[e] = 1.0
                found = True
        if found:
            return True
    return False


@compiled
def attempt(
    w: Wave, d: Draft, xy: np.ndarray, rings: np.ndarray, speed: np.ndarray, party: np.ndarray, eps: float
) -> bool:
    """One attempt at a footprint's planes; ``speed`` ends as the speeds that were used."""
    for _ in range(xy.shape[0] + 1):
        end = advance(w, xy, rings, speed, eps)
        if end == DONE:
            return bool(draft_planes(w, d, rings, eps))
        if end != STUCK or not promote(w, speed, party):
            return False
    return False


@compiled
def solve(
    w: Wave, d: Draft, xy: np.ndarray, rings: np.ndarray, given: np.ndarray, party: np.ndarray, speed: np.ndarray
) -> int:
    """Planes of one footprint: the number of the attempt that held, or NO_PLANES."""
    for k in range(NO_PLANES):
        r = k % ATTEMPTS
        eps = 1e-6 if r == 0 else (1e-8 if r == 1 else (1e-5 if r == 2 else 1e-4))
        if k >= ALL_SLOPED:
            speed[:] = 1.0
        else:
            speed[:] = given
        if attempt(w, d, xy, rings, speed, party, eps):
            return k
    return NO_PLANES


@compiled
def grown(array: np.ndarray, needed: int) -> np.ndarray:
    """The array itself, or a longer copy when it is too short."""
    if array.shape[0] >= needed:
        return array
    longer = np.empty((2 * needed, array.shape[1]), array.dtype)
    longer[: array.shape[0]] = array
    return longer


@compiled
def planes_of_all(
    xy: np.ndarray, ring_offsets: np.ndarray, piece_offsets: np.ndarray, given: np.ndarray, party: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Roof planes of every footprint.

    Parameters
    ----------
    xy
        Corners of all footprints, outer rings anticlockwise, holes clockwise, each ring open, shape (N, 2). [m]
    ring_offsets, piece_offsets
        First corner of each ring and N; first ring of each footprint and the number of rings.
    given
        Speed of the edge that starts at each corner: 1 or 0, float64.
    party
        1 where that edge is a party wall, int64.

    Returns
    -------
    tuple
        Attempt that held for each footprint; speed used for each edge; area of each edge's plane [m2]; nodes (x, y,
        time) of all footprints; first node of each footprint; nodes around each plane, numbered within its
        footprint, shape (K, 1); first of them for each edge.
    """
    pieces = piece_offsets.shape[0] - 1
    n_all = xy.shape[0]
    most = 3
    for p in range(pieces):
        most = max(most, ring_offsets[piece_offsets[p + 1]] - ring_offsets[piece_offsets[p]])
    w = new_wave(most)
    d = new_draft(most)
    held = np.empty(pieces, np.int64)
    speed = given.copy()
    area = np.zeros(n_all)
    nodes = np.empty((3 * n_all + 16, 3))
    node_offsets = np.zeros(pieces + 1, np.int64)
    rings_out = np.empty((7 * n_all + 16, 1), np.int64)
    ring_starts = np.zeros(n_all + 1, np.int64)
    for p in range(pieces):
        first = ring_offsets[piece_offsets[p]]
        last = ring_offsets[piece_offsets[p + 1]]
        local = xy[first:last] - xy[first]
        rings = ring_offsets[piece_offsets[p] : piece_offsets[p + 1] + 1] - first
        held[p] = solve(w, d, local, rings, given[first:last], party[first:last], speed[first:last])
        a = node_offsets[p]
        b = ring_starts[first]
        m = 0
        k = 0
        if held[p] < NO_PLANES:
            m = w.count[NODES]
            k = d.start[last - first]
            area[first:last] = d.area[: last - first]
        nodes = grown(nodes, a + m)
        rings_out = grown(rings_out, b + k)
        nodes[a : a + m] = w.node[:m]
        rings_out[b : b + k, 0] = d.ring[:k]
        node_offsets[p + 1] = a + m
        for e in range(last - first):
            ring_starts[first + e + 1] = b + (d.start[e + 1] if k > 0 else 0)
    total = node_offsets[pieces]
    return held, speed, area, nodes[:total], node_offsets, rings_out[: ring_starts[n_all]], ring_starts
