"""Roof planes of many footprints, one after another, with the steps taken where the first attempt does not hold."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.advance import DONE, STUCK, advance
from screening.roofs.kernels.faces import SAME_PLACE_M, arcs_hold, chain_face, simple_area
from screening.roofs.kernels.wave import ARCS, NODES, OUT, SPEED, VERTICES, Wave, new_wave

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
def prepare_draft(w: Wave, d: Draft, n: int) -> None:
    """Unify nodes at one place, mark those that belong to a plane, and mark all arcs unused."""
    for i in range(w.count[NODES]):
        d.moving[i] = 0
        d.same[i] = i
        for j in range(i):
            if abs(w.node[i, 0] - w.node[j, 0]) < SAME_PLACE_M and abs(w.node[i, 1] - w.node[j, 1]) < SAME_PLACE_M:
                d.same[i] = d.same[j]
                break
    for i in range(n):
        if w.line[i, SPEED] > 0.0:
            d.moving[d.same[i]] = 1
    for i in range(w.count[ARCS]):
        d.used[i, 0] = 0
        d.used[i, 1] = 0
        if w.line[w.arc[i, 2], SPEED] > 0.0 or w.line[w.arc[i, 3], SPEED] > 0.0:
            d.moving[d.same[w.arc[i, 0]]] = 1
            d.moving[d.same[w.arc[i, 1]]] = 1


@compiled
def draft_planes(w: Wave, d: Draft, rings: np.ndarray, eps: float) -> bool:
    """Chain the planes and check them: every arc used, every plane simple and of some area, together the footprint."""
    n = rings[-1]
    prepare_draft(w, d, n)
    total = 0.0
    footprint = 0.0
    at = np.int64(0)
    for r in range(rings.shape[0] - 1):
        for e in range(rings[r], rings[r + 1]):
            end = e + 1 if e + 1 < rings[r + 1] else rings[r]
            footprint += 0.5 * (w.node[e, 0] * w.node[end, 1] - w.node[end, 0] * w.node[e, 1])
            d.start[e] = at
            d.area[e] = 0.0
            if w.line[e, SPEED] > 0.0:
                stop = chain_face(w, e, end, at, d.ring, d.used, d.same, d.moving)
                if stop < at + 3:
                    return False
                d.area[e] = simple_area(w.node, d.ring, at, stop)
                if d.area[e] <= 0.0:
                    return False
                total += d.area[e]
                at = stop
    d.start[n] = at
    return abs(total - footprint) <= AREA_TOLERANCE * footprint and arcs_hold(w, d.used, 1e-6 + 20.0 * eps)


@compiled
def promote(w: Wave, speed: np.ndarray, party: np.ndarray) -> bool:
    """Give speed 1 to the motionless edges that are left, gables before party walls; False when there are none."""
    found = False
    for wanted in range(2):
        for v in range(w.count[VERTICES]):
            e = w.source[w.link[v, OUT]]
            if speed[e] == 0.0 and party[e] == wanted:
                speed[e] = 1.0
                found = True
        if found:
            return True
    return False


@compiled
def grown(array: np.ndarray, needed: int) -> np.ndarray:
    """The array itself, or a longer copy when it is too short."""
    if array.shape[0] >= needed:
        return array
    longer = np.empty((2 * needed, array.shape[1]), array.dtype)
    for i in range(array.shape[0]):
        for j in range(array.shape[1]):
            longer[i, j] = array[i, j]
    return longer


@compiled
def solve(
    w: Wave, d: Draft, xy: np.ndarray, rings: np.ndarray, given: np.ndarray, party: np.ndarray, speed: np.ndarray
) -> int:
    """Planes of one footprint: the number of the attempt that held, or NO_PLANES; ``speed`` becomes what was used."""
    n = xy.shape[0]
    for k in range(NO_PLANES):
        r = k % ATTEMPTS
        eps = 1e-6 if r == 0 else (1e-8 if r == 1 else (1e-5 if r == 2 else 1e-4))
        for i in range(n):
            speed[i] = 1.0 if k >= ALL_SLOPED else given[i]
        for _ in range(n + 1):
            end = advance(w, xy, rings, speed, eps)
            if end == DONE and draft_planes(w, d, rings, eps):
                return k
            if end != STUCK or not promote(w, speed, party):
                break
    return NO_PLANES


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
    most = np.int64(4)
    for p in range(pieces):
        most = max(most, ring_offsets[piece_offsets[p + 1]] - ring_offsets[piece_offsets[p]])
    w = new_wave(most)
    d = new_draft(most)
    held = np.empty(pieces, np.int64)
    speed = np.empty(n_all)
    area = np.empty(n_all)
    nodes = np.empty((3 * n_all + 16, 3))
    node_offsets = np.zeros(pieces + 1, np.int64)
    rings_out = np.empty((7 * n_all + 16, 1), np.int64)
    ring_starts = np.zeros(n_all + 1, np.int64)
    local = np.empty((most, 2))
    rings = np.empty(most, np.int64)
    for p in range(pieces):
        first = ring_offsets[piece_offsets[p]]
        n = ring_offsets[piece_offsets[p + 1]] - first
        r = piece_offsets[p + 1] - piece_offsets[p]
        for i in range(n):
            local[i, 0] = xy[first + i, 0] - xy[first, 0]
            local[i, 1] = xy[first + i, 1] - xy[first, 1]
        for i in range(r + 1):
            rings[i] = ring_offsets[piece_offsets[p] + i] - first
        held[p] = solve(w, d, local[:n], rings[: r + 1], given[first:], party[first:], speed[first:])
        a = node_offsets[p]
        b = ring_starts[first]
        m = w.count[NODES] if held[p] < NO_PLANES else 0
        nodes = grown(nodes, a + m)
        for i in range(m):
            nodes[a + i, 0] = w.node[i, 0]
            nodes[a + i, 1] = w.node[i, 1]
            nodes[a + i, 2] = w.node[i, 2]
        node_offsets[p + 1] = a + m
        k = d.start[n] if m > 0 else 0
        rings_out = grown(rings_out, b + k)
        for i in range(k):
            rings_out[b + i, 0] = d.ring[i]
        for e in range(n):
            area[first + e] = d.area[e] if m > 0 else 0.0
            ring_starts[first + e + 1] = b + (d.start[e + 1] if m > 0 else 0)
    return held, speed, area, nodes[: node_offsets[pieces]], node_offsets, rings_out[: ring_starts[n_all]], ring_starts
