"""The next event of a wavefront: an edge's front closes, or a vertex runs into another edge's front."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.wave import IN, NEXT, OUT, SPEED, START, UX, UY, VERTICES, VX, VY, Wave, X, Y

NO_EVENT: Final = -1
COLLAPSE: Final = 0
SPLIT: Final = 1

STILL: Final = 1e-12
"""Closing speeds under this never close [m per metre of rise]."""


@compiled
def lies_on(w: Wave, v: int, k: int, dt: float, eps: float) -> bool:
    """Whether vertex v, on the line of the front that starts at k after dt, lies between that front's ends then."""
    x = w.vertex[k, NEXT]
    e = w.vertex[k, OUT]
    ux = w.line[e, UX]
    uy = w.line[e, UY]
    along = (w.motion[v, X] - w.motion[k, X]) * ux + (w.motion[v, Y] - w.motion[k, Y]) * uy
    along += dt * ((w.motion[v, VX] - w.motion[k, VX]) * ux + (w.motion[v, VY] - w.motion[k, VY]) * uy)
    left = (w.motion[x, X] - w.motion[v, X]) * ux + (w.motion[x, Y] - w.motion[v, Y]) * uy
    left += dt * ((w.motion[x, VX] - w.motion[v, VX]) * ux + (w.motion[x, VY] - w.motion[v, VY]) * uy)
    return along >= -eps and left >= -eps


@compiled
def next_event(w: Wave, eps: float) -> tuple[float, int, int, int]:
    """Time to the next event, its kind, the vertex and the vertex that starts the front it meets."""
    n = w.count[VERTICES]
    soonest = np.inf
    kind = NO_EVENT
    first = -1
    other = -1
    for v in range(n):
        x = w.vertex[v, NEXT]
        e = w.vertex[v, OUT]
        ux = w.line[e, UX]
        uy = w.line[e, UY]
        rate = (w.motion[x, VX] - w.motion[v, VX]) * ux + (w.motion[x, VY] - w.motion[v, VY]) * uy
        if rate <= -STILL:
            length = (w.motion[x, X] - w.motion[v, X]) * ux + (w.motion[x, Y] - w.motion[v, Y]) * uy
            dt = max(length, 0.0) / -rate
            if dt < soonest:
                soonest = dt
                kind = COLLAPSE
                first = v
                other = x
    for v in range(n):
        a = w.vertex[v, IN]
        b = w.vertex[v, OUT]
        turn = w.line[a, UX] * w.line[b, UY] - w.line[a, UY] * w.line[b, UX]
        if turn > 1e-9 or a == b:
            continue
        s = w.vertex[v, START]
        for k in range(n):
            e = w.vertex[k, OUT]
            ux = w.line[e, UX]
            uy = w.line[e, UY]
            rate = w.motion[v, VY] * ux - w.motion[v, VX] * uy - w.line[e, SPEED]
            off = (w.motion[v, Y] - w.motion[k, Y]) * ux - (w.motion[v, X] - w.motion[k, X]) * uy
            if rate > -STILL or off < -eps or off > -rate * soonest or e == a or e == b or k == v:
                continue
            x = w.vertex[k, NEXT]
            dt = max(off, 0.0) / -rate
            if dt >= soonest or x == v or w.vertex[k, START] == s or w.vertex[x, START] == s:
                continue
            if lies_on(w, v, k, dt, eps):
                soonest = dt
                kind = SPLIT
                first = v
                other = k
    return soonest, kind, first, other
