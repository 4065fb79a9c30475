"""Wavefronts of many footprints, one after another."""

from __future__ import annotations

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.advance import DONE, FAILED, STUCK, advance
from screening.roofs.kernels.wave import ARCS, EDGES, NODES, OUT, VERTICES


@compiled
def promote(vertex: np.ndarray, source: np.ndarray, count: np.ndarray, speed: np.ndarray, party: np.ndarray) -> bool:
    """Give speed 1 to the motionless edges that are left, gables before party walls; False when there are none."""
    found = False
    for wanted in range(2):
        for v in range(count[VERTICES]):
            e = source[vertex[v, OUT]]
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
def wavefronts_of_all(
    xy: np.ndarray,
    ring_offsets: np.ndarray,
    piece_offsets: np.ndarray,
    speed: np.ndarray,
    party: np.ndarray,
    eps: float,
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Nodes, arcs and edges of the wavefront of every footprint.

    Parameters
    ----------
    xy
        Corners, shape (N, 2): outer rings anticlockwise, holes clockwise, none closed. [m]
    ring_offsets, piece_offsets
        First corner of each ring, and N; first ring of each footprint, and the number of rings.
    speed
        Speed of the edge that starts at each corner, 1 or 0; changed to what was used where gables had to be sloped.
    party
        1 where that edge is a party wall.
    eps
        Vertices nearer than this have met. [m]

    Returns
    -------
    tuple
        Whether each wavefront ended (DONE) with the first node, arc and edge of each footprint, shape (P + 1, 4);
        nodes (x, y about the footprint's first corner, time); arcs (from, to, left, right edge); edges (direction,
        speed, a point).
    """
    pieces = piece_offsets.shape[0] - 1
    most = int(np.int64(4))
    for p in range(pieces):
        most = max(most, ring_offsets[piece_offsets[p + 1]] - ring_offsets[piece_offsets[p]])
    room = 10 * most + 128
    vertex = np.empty((room, 8), np.int64)
    motion = np.empty((room, 4))
    line = np.empty((room, 5))
    source = np.empty(room, np.int64)
    node = np.empty((room, 3))
    arc = np.empty((2 * room, 4), np.int64)
    front = np.empty((2 * room, 7), np.int64)
    count = np.zeros(5, np.int64)
    local = np.empty((most, 2))
    rings = np.empty(most, np.int64)
    ends = np.zeros((pieces + 1, 4), np.int64)
    nodes = np.empty((3 * xy.shape[0], 3))
    arcs = np.empty((3 * xy.shape[0], 4), np.int64)
    lines = np.empty((2 * xy.shape[0], 5))
    for p in range(pieces):
        first = ring_offsets[piece_offsets[p]]
        n = ring_offsets[piece_offsets[p + 1]] - first
        for i in range(n):
            local[i, 0] = xy[first + i, 0] - xy[first, 0]
            local[i, 1] = xy[first + i, 1] - xy[first, 1]
        r = piece_offsets[p + 1] - piece_offsets[p]
        for i in range(r + 1):
            rings[i] = ring_offsets[piece_offsets[p] + i] - first
        end = advance(
            vertex, motion, line, source, node, arc, front, count, local[:n], rings[: r + 1], speed[first:], eps
        )
        while end == STUCK:
            end = FAILED
            if promote(vertex, source, count, speed[first:], party[first:]):
                end = advance(
                    vertex, motion, line, source, node, arc, front, count, local[:n], rings[: r + 1], speed[first:], eps
                )
        ends[p, 0] = end
        ends[p + 1, 1] = ends[p, 1] + (count[NODES] if end == DONE else 0)
        ends[p + 1, 2] = ends[p, 2] + (count[ARCS] if end == DONE else 0)
        ends[p + 1, 3] = ends[p, 3] + (count[EDGES] if end == DONE else 0)
        nodes = grown(nodes, ends[p + 1, 1])
        arcs = grown(arcs, ends[p + 1, 2])
        lines = grown(lines, ends[p + 1, 3])
        for i in range(ends[p + 1, 1] - ends[p, 1]):
            for j in range(3):
                nodes[ends[p, 1] + i, j] = node[i, j]
        for i in range(ends[p + 1, 2] - ends[p, 2]):
            for j in range(4):
                arcs[ends[p, 2] + i, j] = arc[i, j]
        for i in range(ends[p + 1, 3] - ends[p, 3]):
            for j in range(5):
                lines[ends[p, 3] + i, j] = line[i, j]
    return ends, nodes, arcs, lines
