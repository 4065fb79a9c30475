"""From a footprint and its edges' speeds to all nodes and arcs."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.cleanup import gather
from screening.roofs.kernels.events import NO_EVENT, next_event
from screening.roofs.kernels.rejoin import launch, rejoin
from screening.roofs.kernels.wave import OUT, SPEED, VERTICES, Wave, move_to, start_wave

DONE: Final = 0
STUCK: Final = 1
"""Fronts are left and none of them moves: only gables or party walls."""
FAILED: Final = 2


@compiled
def step(w: Wave, time: float, eps: float, kind: int, first: int, other: int) -> bool:
    """Bring the wavefront to a time and join anew what has met there."""
    move_to(w, time)
    if not gather(w, eps, kind, first, other):
        return False
    if not rejoin(w, time):
        return False
    move_to(w, time)
    return True


@compiled
def advance(w: Wave, xy: np.ndarray, rings: np.ndarray, speed: np.ndarray, eps: float) -> int:
    """Run the wavefront until nothing is left of it.

    Parameters
    ----------
    w
        Room for the wavefront; holds its nodes and arcs afterwards.
    xy
        Corners about a local origin, shape (n, 2); outer ring anticlockwise, holes clockwise. [m]
    rings
        First corner of each ring, and n.
    speed
        1 or 0 for the edge that starts at each corner.
    eps
        Vertices nearer than this have met. [m]

    Returns
    -------
    int
        DONE, STUCK or FAILED.
    """
    start_wave(w, xy, rings, speed)
    launch(w, rings)
    move_to(w, 0.0)
    time = 0.0
    if not step(w, time, eps, NO_EVENT, -1, -1):
        return FAILED
    for _ in range(20 * xy.shape[0] + 100):
        if w.count[VERTICES] == 0:
            return DONE
        dt, kind, first, other = next_event(w, eps)
        if kind == NO_EVENT:
            for v in range(w.count[VERTICES]):
                if w.line[w.link[v, OUT], SPEED] != 0.0:
                    return FAILED
            return STUCK
        time += dt
        if not step(w, time, eps, kind, first, other):
            return FAILED
    return FAILED
