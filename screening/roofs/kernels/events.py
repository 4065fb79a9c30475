"""The next event of a wavefront: an edge's front closes, or a vertex runs into another edge's front."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.wave import IN, NEXT, OUT, SPEED, START, UX, UY, VERTICES, VX, VY, X, Y

NO_EVENT: Final = -1
COLLAPSE: Final = 0
SPLIT: Final = 1

STILL: Final = 1e-12
"""Closing speeds under this never close [m per metre of rise]."""


@compiled
def lies_on(vertex: np.ndarray, motion: np.ndarray, line: np.ndarray, v: int, k: int, dt: float, eps: float) -> bool:
    """Whether vertex v, on the line of the front that starts at k after dt, lies between that front's ends then."""
    x = vertex[k, NEXT]
    e = vertex[k, OUT]
    ux = line[e, UX]
    uy = line[e, UY]
    along = (motion[v, X] - motion[k, X]) * ux + (motion[v, Y] - motion[k, Y]) * uy
    along += dt * ((motion[v, VX] - motion[k, VX]) * ux + (motion[v, VY] - motion[k, VY]) * uy)
    left = (motion[x, X] - motion[v, X]) * ux + (motion[x, Y] - motion[v, Y]) * uy
    left += dt * ((motion[x, VX] - motion[v, VX]) * ux + (motion[x, VY] - motion[v, VY]) * uy)
    return bool(along >= -eps and left >= -eps)


@compiled
def next_event(
    vertex: np.ndarray, motion: np.ndarray, line: np.ndarray, count: np.ndarray, eps: float
) -> tuple[float, int, int, int]:
    """Time to the next event, its kind, the vertex and the vertex that starts the front it meets."""
    n = count[VERTICES]
    soonest = np.inf
    kind = NO_EVENT
    first = -1
    other = -1
    for v in range(n):
        x = vertex[v, NEXT]
        e = vertex[v, OUT]
        ux = line[e, UX]
        uy = line[e, UY]
        rate = (motion[x, VX] - motion[v, VX]) * ux + (motion[x, VY] - motion[v, VY]) * uy
        if rate <= -STILL:
            length = (motion[x, X] - motion[v, X]) * ux + (motion[x, Y] - motion[v, Y]) * uy
            dt = max(length, 0.0) / -rate
            if dt < soonest:
                soonest = dt
                kind = COLLAPSE
                first = v
                other = x
    for v in range(n):
        a = vertex[v, IN]
        b = vertex[v, OUT]
        turn = line[a, UX] * line[b, UY] - line[a, UY] * line[b, UX]
        if turn > 1e-9 or a == b:
            continue
        s = vertex[v, START]
        for k in range(n):
            e = vertex[k, OUT]
            ux = line[e, UX]
            uy = line[e, UY]
            rate = motion[v, VY] * ux - motion[v, VX] * uy - line[e, SPEED]
            off = (motion[v, Y] - motion[k, Y]) * ux - (motion[v, X] - motion[k, X]) * uy
            if rate > -STILL or off < -eps or off > -rate * soonest or e == a or e == b or k == v:
                continue
            x = vertex[k, NEXT]
            dt = max(off, 0.0) / -rate
            if dt >= soonest or x == v or vertex[k, START] == s or vertex[x, START] == s:
                continue
            if lies_on(vertex, motion, line, v, k, dt, eps):
                soonest = dt
                kind = SPLIT
                first = v
                other = k
    return soonest, kind, first, other
