"""What happens at an event: fronts that have met are joined anew, all over the roof at once.

Edges closing, vertices running into fronts, several of these at one place or one time, ridges, whole rings vanishing:
no case is told apart. Vertices that lie together become one group, fronts that lie on each other cancel, groups
become nodes, and what is left at a node is paired anew by the directions of the edges.
"""

from __future__ import annotations

from typing import Final

from screening.jit import compiled
from screening.roofs.kernels.events import COLLAPSE, SPLIT
from screening.roofs.kernels.wave import IN, NEXT, OUT, PREV, START, UX, UY, VERTICES, Wave, X, Y

LABEL: Final = 0
NODE: Final = 1
SIZE: Final = 2

DUMMY: Final = -1
"""Start node of a vertex put on a front where another vertex touches it."""


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
def put_dummy(w: Wave, v: int, k: int, eps: float) -> None:
    """Put a dummy vertex on the front that starts at k, where vertex v touches it, and unite what lies there."""
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
    w.motion[d, :] = 0.0
    w.motion[d, X] = w.motion[v, X]
    w.motion[d, Y] = w.motion[v, Y]
    w.group[d, LABEL] = d
    for i in range(d):
        dx = w.motion[i, X] - w.motion[d, X]
        dy = w.motion[i, Y] - w.motion[d, Y]
        if dx * dx + dy * dy < eps * eps:
            unite(w, i, d)
    unite(w, v, d)


@compiled
def touches(w: Wave, v: int, k: int, eps: float) -> bool:
    """Whether a vertex lies on the inside of the front that starts at k."""
    x = w.link[k, NEXT]
    if w.group[v, LABEL] == w.group[k, LABEL] or w.group[v, LABEL] == w.group[x, LABEL]:
        return False
    s = w.link[v, START]
    if s == w.link[k, START] or s == w.link[x, START]:
        return False
    e = w.link[k, OUT]
    ux = w.line[e, UX]
    uy = w.line[e, UY]
    dx = w.motion[v, X] - w.motion[k, X]
    dy = w.motion[v, Y] - w.motion[k, Y]
    if abs(dy * ux - dx * uy) >= eps:
        return False
    if dx * ux + dy * uy <= 0.0:
        return False
    return (w.motion[x, X] - w.motion[v, X]) * ux + (w.motion[x, Y] - w.motion[v, Y]) * uy > 0.0


@compiled
def meet(w: Wave, v: int, k: int, eps: float) -> None:
    """Unite a vertex with the front that it has run into: with an end that is near, else with a dummy on it."""
    x = w.link[k, NEXT]
    for end in (k, x):
        dx = w.motion[v, X] - w.motion[end, X]
        dy = w.motion[v, Y] - w.motion[end, Y]
        if dx * dx + dy * dy < eps * eps:
            unite(w, v, end)
            return
    if w.group[v, LABEL] != w.group[k, LABEL] and w.group[v, LABEL] != w.group[x, LABEL]:
        e = w.link[k, OUT]
        along = (w.motion[v, X] - w.motion[k, X]) * w.line[e, UX] + (w.motion[v, Y] - w.motion[k, Y]) * w.line[e, UY]
        left = (w.motion[x, X] - w.motion[v, X]) * w.line[e, UX] + (w.motion[x, Y] - w.motion[v, Y]) * w.line[e, UY]
        if along <= 0.0:
            unite(w, v, k)
        elif left <= 0.0:
            unite(w, v, x)
        else:
            put_dummy(w, v, k, eps)


@compiled
def gather(w: Wave, eps: float, kind: int, first: int, other: int) -> bool:
    """Group vertices that lie together, putting dummies where one lies on a front; False when room runs out."""
    n = w.count[VERTICES]
    for i in range(n):
        w.group[i, LABEL] = i
    for i in range(n):
        for j in range(i + 1, n):
            dx = w.motion[i, X] - w.motion[j, X]
            if dx >= eps or dx <= -eps:
                continue
            dy = w.motion[i, Y] - w.motion[j, Y]
            if dx * dx + dy * dy < eps * eps and w.link[i, START] != w.link[j, START]:
                unite(w, i, j)
    if kind == COLLAPSE:
        unite(w, first, other)
    elif kind == SPLIT:
        meet(w, first, other, eps)
    room = w.link.shape[0] - 1
    for v in range(n):
        k = 0
        while k < w.count[VERTICES]:
            if k != v and w.link[k, NEXT] != v and touches(w, v, k, eps):
                if w.count[VERTICES] >= room:
                    return False
                put_dummy(w, v, k, eps)
            k += 1
    return True
