"""The state of one wavefront, and the small geometry every step of it shares.

A roof's eaves move inward at the speed of their slope (1 for an eave, 0 for a gable or a party wall); what they sweep
are the roof planes in plan. Edges keep their direction throughout; their ends, the *vertices*, start at *nodes* and
leave *arcs* from node to node, each between the planes of two edges.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np

from screening.jit import compiled

PREV: Final = 0
NEXT: Final = 1
IN: Final = 2
OUT: Final = 3
START: Final = 4

VX: Final = 0
VY: Final = 1
X: Final = 2
Y: Final = 3

UX: Final = 0
UY: Final = 1
SPEED: Final = 2
BX: Final = 3
BY: Final = 4

VERTICES: Final = 0
EDGES: Final = 1
NODES: Final = 2
ARCS: Final = 3
SEGMENTS: Final = 4

NEARLY_PARALLEL: Final = 0.08715574274765817
"""Sine of 5 degrees: edges of different speeds nearer to one line than this meet at a step in the wall."""
SPIKE: Final = 1e7
"""Speed of a vertex between two edges that lie back to back: it is gone at once."""


class Wave(NamedTuple):
    """One wavefront in flat arrays.

    Vertices: ``link`` (previous, next, incoming edge, outgoing edge, start node) and ``motion`` (velocity, position
    now). Edges: ``line`` (direction, speed, a point of it at the start) and ``source`` (the edge of the roof behind a step in a wall).
    Nodes: ``node`` (x, y, time). Arcs: ``arc`` (from, to, edge on the left, edge on the right). ``count`` holds how
    many of each there are. The rest is working space of one clean-up.
    """

    link: Any
    motion: Any
    line: Any
    source: Any
    node: Any
    arc: Any
    count: Any
    group: Any
    segment: Any
    fresh: Any


@compiled
def new_wave(n: int) -> Wave:
    """Room for the wavefront of a roof with n edges."""
    return Wave(
        np.empty((6 * n + 64, 5), np.int64),
        np.empty((6 * n + 64, 4), np.float64),
        np.empty((10 * n + 128, 5), np.float64),
        np.empty(10 * n + 128, np.int64),
        np.empty((10 * n + 128, 3), np.float64),
        np.empty((14 * n + 192, 4), np.int64),
        np.zeros(5, np.int64),
        np.empty((6 * n + 64, 3), np.int64),
        np.empty((8 * n + 96, 4), np.int64),
        np.empty((6 * n + 64, 3), np.int64),
    )


@compiled
def start_wave(w: Wave, xy: np.ndarray, rings: np.ndarray, speed: np.ndarray) -> None:
    """Lay the footprint's edges and corners; vertices come with the first launch."""
    n = xy.shape[0]
    w.count[:] = 0
    w.count[EDGES] = n
    w.count[NODES] = n
    for r in range(rings.shape[0] - 1):
        for i in range(rings[r], rings[r + 1]):
            j = i + 1 if i + 1 < rings[r + 1] else rings[r]
            dx = xy[j, 0] - xy[i, 0]
            dy = xy[j, 1] - xy[i, 1]
            length = np.sqrt(dx * dx + dy * dy)
            w.line[i, UX] = dx / length
            w.line[i, UY] = dy / length
            w.line[i, SPEED] = speed[i]
            w.line[i, BX] = xy[i, 0]
            w.line[i, BY] = xy[i, 1]
            w.source[i] = i
            w.node[i, 0] = xy[i, 0]
            w.node[i, 1] = xy[i, 1]
            w.node[i, 2] = 0.0


@compiled
def turn(w: Wave, a: int, b: int) -> float:
    """Sine of the turn from edge a to edge b, positive to the left (a convex corner)."""
    return w.line[a, UX] * w.line[b, UY] - w.line[a, UY] * w.line[b, UX]


@compiled
def set_velocity(w: Wave, v: int) -> None:
    """Velocity of the vertex where the front of its incoming edge meets that of its outgoing edge."""
    a = w.link[v, IN]
    b = w.link[v, OUT]
    ax = -w.line[a, UY]
    ay = w.line[a, UX]
    bx = -w.line[b, UY]
    by = w.line[b, UX]
    sa = w.line[a, SPEED]
    sb = w.line[b, SPEED]
    dot = ax * bx + ay * by
    det = ax * by - ay * bx
    if a == b:
        vx = sa * ax
        vy = sa * ay
    elif sa == sb and dot > -0.5:
        vx = sa * (ax + bx) / (1.0 + dot)
        vy = sa * (ay + by) / (1.0 + dot)
    elif sa == 0.0 and sb == 0.0:
        vx = 0.0
        vy = 0.0
    elif abs(det) < 1e-12:
        vx = -SPIKE * w.line[a, UX]
        vy = -SPIKE * w.line[a, UY]
    else:
        vx = (sa * by - sb * ay) / det
        vy = (sb * ax - sa * bx) / det
    w.motion[v, VX] = vx
    w.motion[v, VY] = vy


@compiled
def clockwise(ax: float, ay: float, bx: float, by: float) -> float:
    """Angle from ray a clockwise to ray b, 0 to 2 pi; rays of one direction are 0 apart."""
    angle = np.arctan2(ay * bx - ax * by, ax * bx + ay * by)
    if angle < -1e-9:
        angle += 2.0 * np.pi
    return max(angle, 0.0)


@compiled
def move_to(w: Wave, time: float) -> None:
    """Put every vertex where it is at this time."""
    for v in range(w.count[VERTICES]):
        s = w.link[v, START]
        dt = time - w.node[s, 2]
        w.motion[v, X] = w.node[s, 0] + w.motion[v, VX] * dt
        w.motion[v, Y] = w.node[s, 1] + w.motion[v, VY] * dt
