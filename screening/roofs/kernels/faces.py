"""Roof planes from nodes and arcs, and what must hold of them."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.wave import ARCS, BX, BY, NODES, SPEED, UX, UY, Wave

SAME_PLACE_M: Final = 1e-9
ON_LINE_M: Final = 1e-7


@compiled
def push_between(
    w: Wave, wall: int, a: int, b: int, ring: np.ndarray, at: int, same: np.ndarray, moving: np.ndarray
) -> int:
    """Add every node that lies between two nodes on a motionless line, nearest first; the new end of the ring."""
    ux = w.line[wall, UX]
    uy = w.line[wall, UY]
    start = (w.node[a, 0] - w.line[wall, BX]) * ux + (w.node[a, 1] - w.line[wall, BY]) * uy
    end = (w.node[b, 0] - w.line[wall, BX]) * ux + (w.node[b, 1] - w.line[wall, BY]) * uy
    way = 1.0 if end > start else -1.0
    reached = SAME_PLACE_M
    while True:
        nearest = -1
        best = abs(end - start) - SAME_PLACE_M
        for k in range(w.count[NODES]):
            if same[k] != k or moving[k] == 0:
                continue
            dx = w.node[k, 0] - w.line[wall, BX]
            dy = w.node[k, 1] - w.line[wall, BY]
            along = way * (dx * ux + dy * uy - start)
            if abs(dy * ux - dx * uy) <= ON_LINE_M and reached < along < best:
                nearest = k
                best = along
        if nearest < 0 or at >= ring.shape[0] - 2:
            return at
        ring[at] = nearest
        at += 1
        reached = best + SAME_PLACE_M


@compiled
def chain_face(
    w: Wave,
    e: int,
    end: int,
    start: int,
    ring: np.ndarray,
    used: np.ndarray,
    same: np.ndarray,
    moving: np.ndarray,
) -> int:
    """Write the nodes around the plane of edge e, its eave first; where they stop, or ``start`` if they do not close.

    Where the plane ends at a motionless line, nodes of planes beyond it are put in, so that all meet corner to corner.
    """
    ring[start] = same[e]
    ring[start + 1] = same[end]
    at = start + 2
    node = end
    while node != e:
        found = -1
        back = 0
        for i in range(w.count[ARCS]):
            if w.arc[i, 2] == e and w.arc[i, 0] == node and used[i, 0] == 0:
                found = i
                break
            if w.arc[i, 3] == e and w.arc[i, 1] == node and used[i, 1] == 0:
                found = i
                back = 1
                break
        if found < 0 or at >= ring.shape[0] - 2:
            return start
        used[found, back] = 1
        to = w.arc[found, 1 - back]
        other = w.arc[found, 3 - back]
        if w.line[other, SPEED] == 0.0:
            at = push_between(w, other, node, to, ring, at, same, moving)
        if ring[at - 1] != same[to]:
            ring[at] = same[to]
            at += 1
        node = to
    return at - 1 if ring[at - 1] == ring[start] else at


@compiled
def arcs_hold(w: Wave, used: np.ndarray, tolerance: float) -> bool:
    """Whether every arc is used, and its ends are as far from its eaves as the front had come when it got there."""
    for i in range(w.count[ARCS]):
        for s in range(2):
            e = w.arc[i, 2 + s]
            if w.line[e, SPEED] == 0.0:
                continue
            if used[i, s] == 0:
                return False
            for t in range(2):
                k = w.arc[i, t]
                off = (w.node[k, 1] - w.line[e, BY]) * w.line[e, UX] - (w.node[k, 0] - w.line[e, BX]) * w.line[e, UY]
                if abs(off - w.node[k, 2]) > tolerance:
                    return False
    return True


@compiled
def side(node: np.ndarray, a: int, b: int, c: int) -> float:
    """Twice the area of the triangle of three nodes."""
    ux = node[b, 0] - node[a, 0]
    uy = node[b, 1] - node[a, 1]
    return ux * (node[c, 1] - node[a, 1]) - uy * (node[c, 0] - node[a, 0])


@compiled
def simple_area(node: np.ndarray, ring: np.ndarray, start: int, stop: int) -> float:
    """Area of a ring of nodes [m2]; -1 when it visits a node twice or two of its sides cross."""
    total = 0.0
    for i in range(start, stop):
        a = ring[i]
        b = ring[i + 1 if i + 1 < stop else start]
        total += 0.5 * side(node, ring[start], a, b)
        for j in range(i + 1, stop):
            c = ring[j]
            if a == c:
                return -1.0
            d = ring[j + 1 if j + 1 < stop else start]
            if j == i + 1 or d == a:
                continue
            if side(node, a, b, c) * side(node, a, b, d) < -1e-18:
                if side(node, c, d, a) * side(node, c, d, b) < -1e-18:
                    return -1.0
    return total
