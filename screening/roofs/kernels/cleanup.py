"""What happens at an event, first half: vertices that have met become one group.

Edges closing, vertices running into fronts, several of these at one place or one time, ridges, whole rings vanishing:
no case is told apart. Vertices that lie together become one group, all over the roof at once; where a vertex lies on
a front, a dummy vertex is put on that front and joins the group.
"""

from __future__ import annotations

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.events import COLLAPSE, SPLIT
from screening.roofs.kernels.wave import DUMMY, IN, LABEL, NEXT, OUT, PREV, START, UX, UY, VERTICES, VX, VY, X, Y


@compiled
def unite(vertex: np.ndarray, count: np.ndarray, a: int, b: int) -> None:
    """Make one group of the groups of two vertices."""
    keep = min(vertex[a, LABEL], vertex[b, LABEL])
    drop = max(vertex[a, LABEL], vertex[b, LABEL])
    if keep != drop:
        for i in range(count[VERTICES]):
            if vertex[i, LABEL] == drop:
                vertex[i, LABEL] = keep


@compiled
def unite_near(vertex: np.ndarray, motion: np.ndarray, count: np.ndarray, first: int, last: int, eps: float) -> None:
    """Unite vertices that lie together, of each pair one from ``first`` on; those of one start node stay apart."""
    for i in range(last):
        for j in range(max(i + 1, first), last):
            dx = motion[i, X] - motion[j, X]
            if dx >= eps or dx <= -eps:
                continue
            dy = motion[i, Y] - motion[j, Y]
            if dx * dx + dy * dy < eps * eps and vertex[i, START] != vertex[j, START]:
                unite(vertex, count, i, j)


@compiled
def lies_within(vertex: np.ndarray, motion: np.ndarray, line: np.ndarray, v: int, k: int, margin: float) -> int:
    """Where vertex v lies on the line of the front that starts at k: 0 between its ends, -1 before or 1 past them."""
    x = vertex[k, NEXT]
    e = vertex[k, OUT]
    ux = line[e, UX]
    uy = line[e, UY]
    if (motion[v, X] - motion[k, X]) * ux + (motion[v, Y] - motion[k, Y]) * uy <= margin:
        return -1
    if (motion[x, X] - motion[v, X]) * ux + (motion[x, Y] - motion[v, Y]) * uy <= margin:
        return 1
    return 0


@compiled
def put_dummy(vertex: np.ndarray, motion: np.ndarray, count: np.ndarray, v: int, k: int, eps: float) -> None:
    """Put a dummy vertex on the front that starts at k where vertex v lies on it, and unite what lies there."""
    x = vertex[k, NEXT]
    e = vertex[k, OUT]
    d = count[VERTICES]
    count[VERTICES] = d + 1
    vertex[d, PREV] = k
    vertex[d, NEXT] = x
    vertex[d, IN] = e
    vertex[d, OUT] = e
    vertex[d, START] = DUMMY
    vertex[k, NEXT] = d
    vertex[x, PREV] = d
    motion[d, VX] = 0.0
    motion[d, VY] = 0.0
    motion[d, X] = motion[v, X]
    motion[d, Y] = motion[v, Y]
    vertex[d, LABEL] = vertex[v, LABEL]
    unite_near(vertex, motion, count, d, d + 1, eps)


@compiled
def gather(
    vertex: np.ndarray,
    motion: np.ndarray,
    line: np.ndarray,
    count: np.ndarray,
    eps: float,
    kind: int,
    first: int,
    other: int,
) -> bool:
    """Group what lies together, the vertices of the event at least; False when room runs out."""
    n = count[VERTICES]
    for i in range(n):
        vertex[i, LABEL] = i
    unite_near(vertex, motion, count, int(np.int64(0)), n, eps)
    if kind == COLLAPSE:
        unite(vertex, count, first, other)
    elif kind == SPLIT:
        x = vertex[other, NEXT]
        if vertex[first, LABEL] != vertex[other, LABEL] and vertex[first, LABEL] != vertex[x, LABEL]:
            place = lies_within(vertex, motion, line, first, other, eps)
            if place == 0:
                put_dummy(vertex, motion, count, first, other, eps)
            else:
                unite(vertex, count, first, other if place < 0 else x)
    for v in range(n):
        s = vertex[v, START]
        k = int(np.int64(0))
        while k < count[VERTICES]:
            e = vertex[k, OUT]
            off = (motion[v, Y] - motion[k, Y]) * line[e, UX] - (motion[v, X] - motion[k, X]) * line[e, UY]
            if abs(off) < eps:
                x = vertex[k, NEXT]
                g = vertex[v, LABEL]
                apart = s != vertex[k, START] and s != vertex[x, START]
                if (
                    apart
                    and g != vertex[k, LABEL]
                    and g != vertex[x, LABEL]
                    and lies_within(vertex, motion, line, v, k, 0.0) == 0
                ):
                    if count[VERTICES] >= vertex.shape[0] - 1:
                        return False
                    put_dummy(vertex, motion, count, v, k, eps)
            k += 1
    return True
