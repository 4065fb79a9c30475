"""Roof planes from nodes and arcs, and what must hold of them."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.wave import BX, BY, SPEED, UX, UY

SAME_PLACE_M: Final = 1e-9
ON_LINE_M: Final = 1e-7


@compiled
def unify_nodes(node: np.ndarray, arc: np.ndarray, line: np.ndarray, n: int, same: np.ndarray) -> None:
    """For each node the first node at the same place; column 1 tells whether it belongs to a plane."""
    for i in range(node.shape[0]):
        same[i, 1] = 0
        same[i, 0] = i
        for j in range(i):
            if abs(node[i, 0] - node[j, 0]) < SAME_PLACE_M and abs(node[i, 1] - node[j, 1]) < SAME_PLACE_M:
                same[i, 0] = same[j, 0]
                break
    for i in range(n):
        if line[i, SPEED] > 0.0:
            same[same[i, 0], 1] = 1
    for i in range(arc.shape[0]):
        if line[arc[i, 2], SPEED] > 0.0 or line[arc[i, 3], SPEED] > 0.0:
            same[same[arc[i, 0], 0], 1] = 1
            same[same[arc[i, 1], 0], 1] = 1


@compiled
def push_between(
    node: np.ndarray, line: np.ndarray, wall: int, a: int, b: int, ring: np.ndarray, at: int, same: np.ndarray
) -> int:
    """Add every node that lies between two nodes on a motionless line, nearest first; the new end of the ring."""
    ux = line[wall, UX]
    uy = line[wall, UY]
    start = (node[a, 0] - line[wall, BX]) * ux + (node[a, 1] - line[wall, BY]) * uy
    end = (node[b, 0] - line[wall, BX]) * ux + (node[b, 1] - line[wall, BY]) * uy
    way = 1.0 if end > start else -1.0
    reached = SAME_PLACE_M
    while True:
        nearest = -1
        best = abs(end - start) - SAME_PLACE_M
        for k in range(node.shape[0]):
            if same[k, 0] != k or same[k, 1] == 0:
                continue
            dx = node[k, 0] - line[wall, BX]
            dy = node[k, 1] - line[wall, BY]
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
    node: np.ndarray,
    arc: np.ndarray,
    line: np.ndarray,
    e: int,
    end: int,
    ring: np.ndarray,
    start: int,
    same: np.ndarray,
    used: np.ndarray,
) -> int:
    """Write the nodes around the plane of edge e, its eave first; where they stop, or ``start`` if they do not close.

    Where the plane ends at a motionless line, nodes of planes beyond it are put in, so that all meet corner to corner.
    """
    ring[start] = same[e, 0]
    ring[start + 1] = same[end, 0]
    at = start + 2
    here = end
    while here != e:
        found = -1
        back = 0
        for i in range(arc.shape[0]):
            if arc[i, 2] == e and arc[i, 0] == here and used[i, 0] == 0:
                found = i
                break
            if arc[i, 3] == e and arc[i, 1] == here and used[i, 1] == 0:
                found = i
                back = 1
                break
        if found < 0 or at >= ring.shape[0] - 2:
            return start
        used[found, back] = 1
        to = arc[found, 1 - back]
        other = arc[found, 3 - back]
        if line[other, SPEED] == 0.0:
            at = push_between(node, line, other, here, to, ring, at, same)
        if ring[at - 1] != same[to, 0]:
            ring[at] = same[to, 0]
            at += 1
        here = to
    return at - 1 if ring[at - 1] == ring[start] else at


@compiled
def arcs_hold(node: np.ndarray, arc: np.ndarray, line: np.ndarray, used: np.ndarray, tolerance: float) -> bool:
    """Whether every arc is used, and its ends are as far from its eaves as the front had come when it got there."""
    for i in range(arc.shape[0]):
        for s in range(2):
            e = arc[i, 2 + s]
            if line[e, SPEED] == 0.0:
                continue
            if used[i, s] == 0:
                return False
            for t in range(2):
                k = arc[i, t]
                off = (node[k, 1] - line[e, BY]) * line[e, UX] - (node[k, 0] - line[e, BX]) * line[e, UY]
                if abs(off - node[k, 2]) > tolerance:
                    return False
    return True


@compiled
def side(node: np.ndarray, a: int, b: int, c: int) -> float:
    """Twice the area of the triangle of three nodes."""
    ux = node[b, 0] - node[a, 0]
    uy = node[b, 1] - node[a, 1]
    return float(ux * (node[c, 1] - node[a, 1]) - uy * (node[c, 0] - node[a, 0]))


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
