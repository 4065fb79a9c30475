"""What happens at an event, first half: vertices that have met become one group.

Edges closing, vertices running into fronts, several of these at one place or one time, ridges, whole rings vanishing:
no case is told apart. Vertices that lie together become one group, all over the roof at once; where a vertex lies on
a front, a dummy vertex is put on that front and joins the group.
"""

from __future__ import annotations

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.events import COLLAPSE, SPLIT
from screening.roofs.kernels.wave import DUMMY, IN, LABEL, NEXT, OUT, PREV, START, UX, UY, VERTICES, VX, VY, Wave, X, Y


@compiled
def unite(w: Wave, a: int, b: int) -> None:
    """Make one group of the groups of two vertices."""
    keep = min(w.vertex[a, LABEL], w.vertex[b, LABEL])
    drop = max(w.vertex[a, LABEL], w.vertex[b, LABEL])
    if keep != drop:
        for i in range(w.count[VERTICES]):
            if w.vertex[i, LABEL] == drop:
                w.vertex[i, LABEL] = keep


@compiled
def unite_near(w: Wave, first: int, last: int, eps: float) -> None:
    """Unite vertices that lie together, of each pair one from ``first`` on; those of one start node stay apart."""
    for i in range(last):
        for j in range(max(i + 1, first), last):
            dx = w.motion[i, X] - w.motion[j, X]
            if dx >= eps or dx <= -eps:
                continue
            dy = w.motion[i, Y] - w.motion[j, Y]
            if dx * dx + dy * dy < eps * eps and w.vertex[i, START] != w.vertex[j, START]:
                unite(w, i, j)


@compiled
def lies_within(w: Wave, v: int, k: int, margin: float) -> int:
    """0 where vertex v, on the line of the front that starts at k, lies between its ends, else -1 before or 1 past it."""
    x = w.vertex[k, NEXT]
    e = w.vertex[k, OUT]
    ux = w.line[e, UX]
    uy = w.line[e, UY]
    if (w.motion[v, X] - w.motion[k, X]) * ux + (w.motion[v, Y] - w.motion[k, Y]) * uy <= margin:
        return -1
    if (w.motion[x, X] - w.motion[v, X]) * ux + (w.motion[x, Y] - w.motion[v, Y]) * uy <= margin:
        return 1
    return 0


@compiled
def put_dummy(w: Wave, v: int, k: int, eps: float) -> None:
    """Put a dummy vertex on the front that starts at k where vertex v lies on it, and unite what lies there."""
    x = w.vertex[k, NEXT]
    e = w.vertex[k, OUT]
    d = w.count[VERTICES]
    w.count[VERTICES] = d + 1
    w.vertex[d, PREV] = k
    w.vertex[d, NEXT] = x
    w.vertex[d, IN] = e
    w.vertex[d, OUT] = e
    w.vertex[d, START] = DUMMY
    w.vertex[k, NEXT] = d
    w.vertex[x, PREV] = d
    w.motion[d, VX] = 0.0
    w.motion[d, VY] = 0.0
    w.motion[d, X] = w.motion[v, X]
    w.motion[d, Y] = w.motion[v, Y]
    w.vertex[d, LABEL] = w.vertex[v, LABEL]
    unite_near(w, d, d + 1, eps)


@compiled
def gather(w: Wave, eps: float, kind: int, first: int, other: int) -> bool:
    """Group what lies together, the vertices of the event at least; False when room runs out."""
    n = w.count[VERTICES]
    for i in range(n):
        w.vertex[i, LABEL] = i
    unite_near(w, np.int64(0), n, eps)
    if kind == COLLAPSE:
        unite(w, first, other)
    elif kind == SPLIT:
        x = w.vertex[other, NEXT]
        if w.vertex[first, LABEL] != w.vertex[other, LABEL] and w.vertex[first, LABEL] != w.vertex[x, LABEL]:
            place = lies_within(w, first, other, eps)
            if place == 0:
                put_dummy(w, first, other, eps)
            else:
                unite(w, first, other if place < 0 else x)
    for v in range(n):
        s = w.vertex[v, START]
        k = np.int64(0)
        while k < w.count[VERTICES]:
            e = w.vertex[k, OUT]
            off = (w.motion[v, Y] - w.motion[k, Y]) * w.line[e, UX] - (w.motion[v, X] - w.motion[k, X]) * w.line[e, UY]
            if abs(off) < eps:
                x = w.vertex[k, NEXT]
                g = w.vertex[v, LABEL]
                apart = s != w.vertex[k, START] and s != w.vertex[x, START]
                if apart and g != w.vertex[k, LABEL] and g != w.vertex[x, LABEL] and lies_within(w, v, k, 0.0) == 0:
                    if w.count[VERTICES] >= w.vertex.shape[0] - 1:
                        return False
                    put_dummy(w, v, k, eps)
            k += 1
    return True
