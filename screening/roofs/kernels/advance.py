"""From a footprint and its edges' speeds to all nodes and arcs."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.cleanup import gather
from screening.roofs.kernels.events import NO_EVENT, next_event
from screening.roofs.kernels.rejoin import cancel_fronts, pair_fronts, place_nodes, relink
from screening.roofs.kernels.wave import OUT, SPEED, VERTICES, VX, VY, X, Y, start_wave

DONE: Final = 0
STUCK: Final = 1
"""Fronts are left and none of them moves: only gables or party walls."""
FAILED: Final = 2


@compiled
def advance(
    vertex: np.ndarray,
    motion: np.ndarray,
    line: np.ndarray,
    source: np.ndarray,
    node: np.ndarray,
    arc: np.ndarray,
    front: np.ndarray,
    count: np.ndarray,
    xy: np.ndarray,
    rings: np.ndarray,
    speed: np.ndarray,
    eps: float,
) -> int:
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
    start_wave(vertex, line, source, node, front, count, xy, rings, speed)
    pair_fronts(vertex, line, source, node, front, count)
    relink(vertex, motion, line, node, front, count, 0.0)
    time = 0.0
    dt = 0.0
    kind = int(np.int64(NO_EVENT))
    first = int(np.int64(-1))
    other = int(np.int64(-1))
    for _ in range(20 * xy.shape[0] + 100):
        time += dt
        for v in range(count[VERTICES]):
            motion[v, X] += motion[v, VX] * dt
            motion[v, Y] += motion[v, VY] * dt
        if not gather(vertex, motion, line, count, eps, kind, first, other) or not cancel_fronts(
            vertex, line, node, arc, front, count
        ):
            return FAILED
        place_nodes(vertex, motion, line, node, arc, front, count, time)
        pair_fronts(vertex, line, source, node, front, count)
        relink(vertex, motion, line, node, front, count, time)
        if count[VERTICES] == 0:
            return DONE
        dt, kind, first, other = next_event(vertex, motion, line, count, eps)
        if kind == NO_EVENT:
            for v in range(count[VERTICES]):
                if line[vertex[v, OUT], SPEED] != 0.0:
                    return FAILED
            return STUCK
    return FAILED
