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
def keep(from_: np.ndarray, size: int, to: np.ndarray, start: int) -> int:
    """Copy the first rows of an array to where another's free rows start; where they start then."""
    for i in range(size):
        for j in range(from_.shape[1]):
            to[start + i, j] = from_[i, j]
    return start + size


@compiled
def wavefronts_of_all(
    xy: np.ndarray,
    ring_offsets: np.ndarray,
    piece_offsets: np.ndarray,
    speed: np.ndarray,
    party: np.ndarray,
    eps: float,
    vertex: np.ndarray,
    motion: np.ndarray,
    line: np.ndarray,
    source: np.ndarray,
    node: np.ndarray,
    arc: np.ndarray,
    front: np.ndarray,
    count: np.ndarray,
    local: np.ndarray,
    rings: np.ndarray,
    ends: np.ndarray,
    nodes: np.ndarray,
    arcs: np.ndarray,
    lines: np.ndarray,
) -> bool:
    """Nodes, arcs and edges of the wavefront of every footprint; False when the last three arrays have too little room.

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
    vertex, motion, line, source, node, arc, front, count, local, rings
        Working space, as ``wave`` tells it; corners and rings of one footprint.
    ends
        Is filled with how each wavefront ended, and the first node, arc and edge of each footprint, shape (P + 1, 4).
    nodes, arcs, lines
        Are filled with nodes (x, y about the footprint's first corner, time), arcs (from, to, left, right edge) and
        edges (direction, speed, a point).
    """
    for p in range(piece_offsets.shape[0] - 1):
        first = ring_offsets[piece_offsets[p]]
        n = ring_offsets[piece_offsets[p + 1]] - first
        for i in range(n):
            local[i, 0] = xy[first + i, 0] - xy[first, 0]
            local[i, 1] = xy[first + i, 1] - xy[first, 1]
        r = piece_offsets[p + 1] - piece_offsets[p]
        for i in range(r + 1):
            rings[i] = ring_offsets[piece_offsets[p] + i] - first
        end = STUCK
        while end == STUCK:
            end = advance(
                vertex, motion, line, source, node, arc, front, count, local[:n], rings[: r + 1], speed[first:], eps
            )
            if end == STUCK and not promote(vertex, source, count, speed[first:], party[first:]):
                end = FAILED
        done = 1 if end == DONE else 0
        if ends[p, 1] + count[NODES] > nodes.shape[0] or ends[p, 2] + count[ARCS] > arcs.shape[0]:
            return False
        if ends[p, 3] + count[EDGES] > lines.shape[0]:
            return False
        ends[p, 0] = end
        ends[p + 1, 1] = keep(node, done * count[NODES], nodes, ends[p, 1])
        ends[p + 1, 2] = ends[p, 2] + done * count[ARCS]
        for i in range(done * count[ARCS]):
            for j in range(4):
                arcs[ends[p, 2] + i, j] = arc[i, j]
        ends[p + 1, 3] = keep(line, done * count[EDGES], lines, ends[p, 3])
    return True
