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
    keep = min(w.group[a, LABEL], w.group[b, LABEL])
    drop = max(w.group[a, LABEL], w.group[b, LABEL])
    if keep != drop:
        for i in range(w.count[VERTICES]):
            if w.group[i, LABEL] == drop:
                w.group[i, LABEL] = keep


@compiled
def unite_near(w: Wave, first: int, last: int, eps: float) -> None:
    """Unite vertices that lie together, of each pair one from ``first`` on; those of one start node stay apart."""
    for i in range(last):
        for j in range(max(i + 1, first), last):
            dx = w.motion[i, X] - w.motion[j, X]
            if dx >= eps or dx <= -eps:
                continue
            dy = w.motion[i, Y] - w.motion[j, Y]
            if dx * dx + dy * dy < eps * eps and w.link[i, START] != w.link[j, START]:
                unite(w, i, j)


@compiled
def lies_within(w: Wave, v: int, k: int, margin: float) -> int:
    """0 where vertex v, on the line of the front that starts at k, lies between its ends, else -1 before or 1 past it."""
    x = w.link[k, NEXT]
    e = w.link[k, OUT]
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
    x = w.link[k, NEXT]
    e = w.link[k, OUT]
    d = w.count[VERTICES]
    w.count[VERTICES] = d + 1
    w.link[d, PREV] = k
    w.link[d, NEXT] = x
    w.link[d, IN] = e
    w.link[d, OUT] = e
    w.link[d, START] = DUMMY
    w.link[k, NEXT] = d
    w.link[x, PREV] = d
    w.motion[d, VX] = 0.0
    w.motion[d, VY] = 0.0
    w.motion[d, X] = w.motion[v, X]
    w.motion[d, Y] = w.motion[v, Y]
    w.group[d, LABEL] = w.group[v, LABEL]
    unite_near(w, d, d + 1, eps)


@compiled
def gather(w: Wave, eps: float, kind: int, first: int, other: int) -> bool:
    """Group what lies together, the vertices of the event at least; False when room runs out."""
    n = w.count[VERTICES]
    for i in range(n):
        w.group[i, LABEL] = i
    unite_near(w, np.int64(0), n, eps)
    if kind == COLLAPSE:
        unite(w, first, other)
    elif kind == SPLIT:
        x = w.link[other, NEXT]
        if w.group[first, LABEL] != w.group[other, LABEL] and w.group[first, LABEL] != w.group[x, LABEL]:
            place = lies_within(w, first, other, eps)
            if place == 0:
                put_dummy(w, first, other, eps)
            else:
                unite(w, first, other if place < 0 else x)
    for v in range(n):
        s = w.link[v, START]
        k = np.int64(0)
        while k < w.count[VERTICES]:
            e = w.link[k, OUT]
            off = (w.motion[v, Y] - w.motion[k, Y]) * w.line[e, UX] - (w.motion[v, X] - w.motion[k, X]) * w.line[e, UY]
            if abs(off) < eps:
                x = w.link[k, NEXT]
                g = w.group[v, LABEL]
                apart = s != w.link[k, START] and s != w.link[x, START]
                if apart and g != w.group[k, LABEL] and g != w.group[x, LABEL] and lies_within(w, v, k, 0.0) == 0:
                    if w.count[VERTICES] >= w.link.shape[0] - 1:
                        return False
                    put_dummy(w, v, k, eps)
            k += 1
    return True
