"""The next event of a wavefront: an edge's front closes, or a vertex runs into another edge's front."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.wave import IN, NEXT, OUT, SPEED, START, UX, UY, VERTICES, VX, VY, Wave, X, Y, turn

NO_EVENT: Final = -1
COLLAPSE: Final = 0
SPLIT: Final = 1

STILL: Final = 1e-12
"""Closing speeds under this never close [m per metre of rise]."""


@compiled
def collapse_after(w: Wave, v: int) -> float:
    """Time until the front that starts at a vertex has closed; infinite when it does not."""
    x = w.link[v, NEXT]
    e = w.link[v, OUT]
    ux = w.line[e, UX]
    uy = w.line[e, UY]
    rate = (w.motion[x, VX] - w.motion[v, VX]) * ux + (w.motion[x, VY] - w.motion[v, VY]) * uy
    if rate > -STILL:
        return np.inf
    length = (w.motion[x, X] - w.motion[v, X]) * ux + (w.motion[x, Y] - w.motion[v, Y]) * uy
    return max(length, 0.0) / -rate


@compiled
def split_after(w: Wave, v: int, k: int, eps: float, soonest: float) -> float:
    """Time until vertex v meets the front that starts at vertex k; infinite when not before ``soonest``."""
    x = w.link[k, NEXT]
    e = w.link[k, OUT]
    ux = w.line[e, UX]
    uy = w.line[e, UY]
    rate = w.motion[v, VY] * ux - w.motion[v, VX] * uy - w.line[e, SPEED]
    if rate > -STILL:
        return np.inf
    dx = w.motion[v, X] - w.motion[k, X]
    dy = w.motion[v, Y] - w.motion[k, Y]
    off = dy * ux - dx * uy
    if off < -eps:
        return np.inf
    dt = max(off, 0.0) / -rate
    if dt >= soonest:
        return np.inf
    along = (
        dx * ux + dy * uy + dt * ((w.motion[v, VX] - w.motion[k, VX]) * ux + (w.motion[v, VY] - w.motion[k, VY]) * uy)
    )
    if along < -eps:
        return np.inf
    left = (w.motion[x, X] - w.motion[v, X]) * ux + (w.motion[x, Y] - w.motion[v, Y]) * uy
    left += dt * ((w.motion[x, VX] - w.motion[v, VX]) * ux + (w.motion[x, VY] - w.motion[v, VY]) * uy)
    if left < -eps:
        return np.inf
    return dt


@compiled
def next_event(w: Wave, eps: float) -> tuple[float, int, int, int]:
    """Time to the next event, its kind, the vertex and the vertex that starts the front it meets."""
    n = w.count[VERTICES]
    soonest = np.inf
    kind = NO_EVENT
    first = -1
    other = -1
    for v in range(n):
        dt = collapse_after(w, v)
        if dt < soonest:
            soonest = dt
            kind = COLLAPSE
            first = v
            other = w.link[v, NEXT]
    for v in range(n):
        a = w.link[v, IN]
        b = w.link[v, OUT]
        if turn(w, a, b) > 1e-9 or a == b:
            continue
        s = w.link[v, START]
        for k in range(n):
            e = w.link[k, OUT]
            x = w.link[k, NEXT]
            if e == a or e == b or k == v or x == v or w.link[k, START] == s or w.link[x, START] == s:
                continue
            dt = split_after(w, v, k, eps, soonest)
            if dt < soonest:
                soonest = dt
                kind = SPLIT
                first = v
                other = k
    return soonest, kind, first, other
