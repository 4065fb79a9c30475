"""Roof planes from nodes and arcs, and what must hold of them."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.wave import ARCS, BX, BY, NODES, SPEED, UX, UY, Wave

SAME_PLACE_M: Final = 1e-9
ON_LINE_M: Final = 1e-7


@compiled
def unify_nodes(w: Wave, same: np.ndarray) -> None:
    """For each node the first node at the same place."""
    n = w.count[NODES]
    for i in range(n):
        same[i] = i
        for j in range(i):
            if abs(w.node[i, 0] - w.node[j, 0]) < SAME_PLACE_M and abs(w.node[i, 1] - w.node[j, 1]) < SAME_PLACE_M:
                same[i] = same[j]
                break


@compiled
def arc_from(w: Wave, e: int, node: int, used: np.ndarray) -> int:
    """Code of an unused arc of plane e that leads on from a node: 2 x arc, and 1 when run backward; -1 if none."""
    for i in range(w.count[ARCS]):
        if w.arc[i, 2] == e and w.arc[i, 0] == node and used[i, 0] == 0:
            return 2 * i
        if w.arc[i, 3] == e and w.arc[i, 1] == node and used[i, 1] == 0:
            return 2 * i + 1
    return -1


@compiled
def push(ring: np.ndarray, size: int, node: int) -> int:
    """Add a node to a ring unless it is the last one already; the new size."""
    if size > 0 and ring[size - 1] == node:
        return size
    ring[size] = node
    return size + 1


@compiled
def push_between(
    w: Wave, wall: int, a: int, b: int, ring: np.ndarray, size: int, same: np.ndarray, moving: np.ndarray
) -> int:
    """Add every node that lies between two nodes on a motionless line, nearest first; the new size."""
    ux = w.line[wall, UX]
    uy = w.line[wall, UY]
    start = (w.node[a, 0] - w.line[wall, BX]) * ux + (w.node[a, 1] - w.line[wall, BY]) * uy
    end = (w.node[b, 0] - w.line[wall, BX]) * ux + (w.node[b, 1] - w.line[wall, BY]) * uy
    way = 1.0 if end > start else -1.0
    reached = SAME_PLACE_M
    span = abs(end - start) - SAME_PLACE_M
    while True:
        nearest = -1
        at = span
        for k in range(w.count[NODES]):
            if same[k] != k or moving[k] == 0:
                continue
            dx = w.node[k, 0] - w.line[wall, BX]
            dy = w.node[k, 1] - w.line[wall, BY]
            if abs(dy * ux - dx * uy) > ON_LINE_M:
                continue
            along = way * (dx * ux + dy * uy - start)
            if reached < along < at:
                nearest = k
                at = along
        if nearest < 0 or size >= ring.shape[0] - 2:
            return size
        size = push(ring, size, nearest)
        reached = at + SAME_PLACE_M


@compiled
def chain_face(
    w: Wave, e: int, end: int, ring: np.ndarray, used: np.ndarray, same: np.ndarray, moving: np.ndarray
) -> int:
    """Nodes around the plane of edge e, its eave first; 0 when its arcs do not close."""
    ring[0] = same[e]
    size = push(ring, 1, same[end])
    at = end
    while at != e:
        code = arc_from(w, e, at, used)
        if code < 0 or size >= ring.shape[0] - 2:
            return 0
        i = code // 2
        back = code % 2
        used[i, back] = 1
        to = w.arc[i, 0] if back else w.arc[i, 1]
        other = w.arc[i, 2] if back else w.arc[i, 3]
        if w.line[other, SPEED] == 0.0:
            size = push_between(w, other, at, to, ring, size, same, moving)
        size = push(ring, size, same[to])
        at = to
    return size - 1 if ring[size - 1] == ring[0] else size


@compiled
def ring_area(node: np.ndarray, ring: np.ndarray, size: int) -> float:
    """Signed area of a ring of nodes, about its first node. [m2]"""
    total = 0.0
    x0 = node[ring[0], 0]
    y0 = node[ring[0], 1]
    for i in range(1, size - 1):
        a = ring[i]
        b = ring[i + 1]
        total += (node[a, 0] - x0) * (node[b, 1] - y0) - (node[b, 0] - x0) * (node[a, 1] - y0)
    return 0.5 * total


@compiled
def side(node: np.ndarray, a: int, b: int, c: int) -> float:
    """Twice the area of the triangle of three nodes."""
    return (node[b, 0] - node[a, 0]) * (node[c, 1] - node[a, 1]) - (node[b, 1] - node[a, 1]) * (node[c, 0] - node[a, 0])


@compiled
def ring_simple(node: np.ndarray, ring: np.ndarray, size: int) -> bool:
    """Whether a ring visits no node twice and no two of its sides cross."""
    for i in range(size):
        for j in range(i + 1, size):
            if ring[i] == ring[j]:
                return False
    for i in range(size):
        a = ring[i]
        b = ring[(i + 1) % size]
        for j in range(i + 2, size):
            if i == 0 and j == size - 1:
                continue
            c = ring[j]
            d = ring[(j + 1) % size]
            if (
                side(node, a, b, c) * side(node, a, b, d) < -1e-18
                and side(node, c, d, a) * side(node, c, d, b) < -1e-18
            ):
                return False
    return True
