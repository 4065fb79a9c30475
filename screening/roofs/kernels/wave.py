"""The arrays of one wavefront, and how it starts.

A roof's eaves move inward at the speed of their slope (1 for an eave, 0 for a gable or a party wall); what they sweep
are the roof planes in plan. Edges keep their direction throughout; their ends, the *vertices*, start at *nodes* and
leave *arcs* from node to node, each between the planes of two edges. All kernels of the wavefront share these arrays:

``vertex``
    Previous, next, incoming edge, outgoing edge, start node; for a clean-up its group's label, and for a label
    whether the group becomes a node, and which.
``motion``
    Velocity and position of each vertex.
``line``
    Direction, speed and a point of each edge.
``source``
    The edge of the roof behind each edge (a step in a wall has one).
``node``
    x, y and the time at which the fronts got there.
``arc``
    From node, to node, edge on the left, edge on the right.
``front``
    Working space of a clean-up: the front that starts at each vertex (edge, new tail, new head, state) and the new
    vertices (incoming front, outgoing front, start node).
``count``
    How many vertices, edges, nodes, arcs and fronts there are.

Whole numbers that start as literals and are handed on are written ``int(np.int64(0))``: handed on as a literal, they
would make the compiler compile what takes them twice.
"""

from __future__ import annotations

from typing import Final

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

LABEL: Final = 5
IS_NODE: Final = 6
NODE: Final = 7

EDGE: Final = 0
TAIL: Final = 1
HEAD: Final = 2
STATE: Final = 3
NEW_IN: Final = 4
NEW_OUT: Final = 5
NEW_START: Final = 6

ALIVE: Final = -1
"""A segment that goes on; one that has met another holds that one's number instead,"""
CLOSED: Final = -2
"""or this when its ends have met."""

DUMMY: Final = -1
"""Start node of a vertex put on a front where another vertex touches it."""

NEARLY_PARALLEL: Final = 0.08715574274765817
"""Sine of 5 degrees: edges of different speeds nearer to one line than this meet at a step in the wall."""
SPIKE: Final = 1e7
"""Speed of a vertex between two edges that lie back to back: it is gone at once."""


@compiled
def start_wave(
    vertex: np.ndarray,
    line: np.ndarray,
    source: np.ndarray,
    node: np.ndarray,
    front: np.ndarray,
    count: np.ndarray,
    xy: np.ndarray,
    rings: np.ndarray,
    speed: np.ndarray,
) -> None:
    """Lay the footprint's edges and corners; every corner is a group of one, ready to be paired."""
    n = xy.shape[0]
    count[VERTICES] = n
    count[EDGES] = n
    count[NODES] = n
    count[ARCS] = 0
    count[SEGMENTS] = n
    for r in range(rings.shape[0] - 1):
        for i in range(rings[r], rings[r + 1]):
            j = i + 1 if i + 1 < rings[r + 1] else rings[r]
            dx = xy[j, 0] - xy[i, 0]
            dy = xy[j, 1] - xy[i, 1]
            length = np.sqrt(dx * dx + dy * dy)
            line[i, UX] = dx / length
            line[i, UY] = dy / length
            line[i, SPEED] = speed[i]
            line[i, BX] = xy[i, 0]
            line[i, BY] = xy[i, 1]
            source[i] = i
            node[i, 0] = xy[i, 0]
            node[i, 1] = xy[i, 1]
            node[i, 2] = 0.0
            vertex[i, NEXT] = j
            vertex[j, PREV] = i
            vertex[i, LABEL] = i
            vertex[i, IS_NODE] = 1
            vertex[i, NODE] = i
            front[i, EDGE] = i
            front[i, TAIL] = -1
            front[i, HEAD] = -1
            front[i, STATE] = ALIVE


@compiled
def clockwise(ax: float, ay: float, bx: float, by: float) -> float:
    """Angle from ray a clockwise to ray b, 0 to 2 pi; rays of one direction are 0 apart."""
    angle = np.arctan2(ay * bx - ax * by, ax * bx + ay * by)
    if angle < -1e-9:
        angle += 2.0 * np.pi
    return float(max(angle, 0.0))
