"""From groups of vertices to nodes, arcs and a new wavefront."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.cleanup import DUMMY, LABEL, NODE, SIZE
from screening.roofs.kernels.wave import (
    ARCS,
    BX,
    BY,
    EDGES,
    IN,
    NEARLY_PARALLEL,
    NEXT,
    NODES,
    OUT,
    PREV,
    SEGMENTS,
    SPEED,
    START,
    UX,
    UY,
    VERTICES,
    VX,
    VY,
    Wave,
    X,
    Y,
    clockwise,
    set_velocity,
    turn,
)

EDGE: Final = 0
TAIL: Final = 1
HEAD: Final = 2
PARTNER: Final = 3

ALIVE: Final = -1
LOOP: Final = -2


@compiled
def cancel_fronts(w: Wave) -> None:
    """Drop fronts that have closed and pairs of fronts that lie on each other; mark the groups that become nodes."""
    n = w.count[VERTICES]
    for k in range(n):
        w.group[k, NODE] = 0
        w.group[k, SIZE] = 0
    for k in range(n):
        w.group[w.group[k, LABEL], SIZE] += 1
        w.segment[k, EDGE] = w.link[k, OUT]
        w.segment[k, PARTNER] = LOOP if w.group[k, LABEL] == w.group[w.link[k, NEXT], LABEL] else ALIVE
    for k in range(n):
        if w.segment[k, PARTNER] != ALIVE:
            continue
        a = w.group[k, LABEL]
        b = w.group[w.link[k, NEXT], LABEL]
        for j in range(k + 1, n):
            if w.segment[j, PARTNER] != ALIVE or w.group[j, LABEL] != b:
                continue
            if w.group[w.link[j, NEXT], LABEL] == a:
                w.segment[k, PARTNER] = j
                w.segment[j, PARTNER] = k
                w.group[a, NODE] = 1
                w.group[b, NODE] = 1
                break
    for g in range(n):
        if w.group[g, LABEL] == g and (w.group[g, SIZE] > 1 or w.group[g, NODE] == 1):
            w.group[g, NODE] = 1
        else:
            w.group[g, NODE] = 0


@compiled
def add_arc(w: Wave, a: int, b: int, left: int, right: int) -> None:
    """Add an arc from node a to node b."""
    i = w.count[ARCS]
    w.arc[i, 0] = a
    w.arc[i, 1] = b
    w.arc[i, 2] = left
    w.arc[i, 3] = right
    w.count[ARCS] = i + 1


@compiled
def place_node(w: Wave, g: int, time: float) -> int:
    """Make the node of a group where its slowest vertex is, on the motionless line it touches; arcs lead to it."""
    slowest = np.inf
    wall = -1
    x = 0.0
    y = 0.0
    for v in range(w.count[VERTICES]):
        if w.group[v, LABEL] != g:
            continue
        for e in (w.link[v, IN], w.link[v, OUT]):
            if w.line[e, SPEED] == 0.0 and wall < 0:
                wall = e
        if w.link[v, START] == DUMMY:
            continue
        speed = w.motion[v, VX] ** 2 + w.motion[v, VY] ** 2
        if speed < slowest:
            slowest = speed
            x = w.motion[v, X]
            y = w.motion[v, Y]
    if wall >= 0 and slowest > 0.0:
        off = (y - w.line[wall, BY]) * w.line[wall, UX] - (x - w.line[wall, BX]) * w.line[wall, UY]
        x += off * w.line[wall, UY]
        y -= off * w.line[wall, UX]
    k = w.count[NODES]
    w.count[NODES] = k + 1
    w.node[k, 0] = x
    w.node[k, 1] = y
    w.node[k, 2] = time
    for v in range(w.count[VERTICES]):
        if w.group[v, LABEL] == g and w.link[v, START] != DUMMY and w.link[v, IN] != w.link[v, OUT]:
            add_arc(w, w.link[v, START], k, w.link[v, IN], w.link[v, OUT])
    return k


@compiled
def add_vertex(w: Wave, k_in: int, k_out: int, node: int) -> None:
    """Add a vertex of the new wavefront between two fronts, starting at a node."""
    j = w.count[VERTICES]
    w.count[VERTICES] = j + 1
    w.fresh[j, 0] = k_in
    w.fresh[j, 1] = k_out
    w.fresh[j, 2] = node
    w.segment[k_in, HEAD] = j
    w.segment[k_out, TAIL] = j


@compiled
def join_fronts(w: Wave, k_in: int, k_out: int, node: int) -> None:
    """Join an incoming and an outgoing front at a node, with a step in the wall where a gable continues an eave.

    A moving front nearly in line with a motionless one would slide along it with extreme speed. The step is a
    motionless edge of no length yet, square to the moving front, that grows as the front moves away.
    """
    a = w.segment[k_in, EDGE]
    b = w.segment[k_out, EDGE]
    along = w.line[a, UX] * w.line[b, UX] + w.line[a, UY] * w.line[b, UY]
    if w.line[a, SPEED] == w.line[b, SPEED] or along <= 0.0 or abs(turn(w, a, b)) >= NEARLY_PARALLEL:
        add_vertex(w, k_in, k_out, node)
        return
    e = w.count[EDGES]
    w.count[EDGES] = e + 1
    if w.line[a, SPEED] == 0.0:
        w.line[e, UX] = -w.line[b, UY]
        w.line[e, UY] = w.line[b, UX]
        w.source[e] = w.source[a]
    else:
        w.line[e, UX] = w.line[a, UY]
        w.line[e, UY] = -w.line[a, UX]
        w.source[e] = w.source[b]
    w.line[e, SPEED] = 0.0
    w.line[e, BX] = w.node[node, 0]
    w.line[e, BY] = w.node[node, 1]
    k = w.count[SEGMENTS]
    w.count[SEGMENTS] = k + 1
    w.segment[k, EDGE] = e
    w.segment[k, PARTNER] = ALIVE
    add_vertex(w, k_in, k, node)
    add_vertex(w, k, k_out, node)


@compiled
def pair_at(w: Wave, g: int, n: int, node: int) -> None:
    """Pair the fronts left at a node: each incoming one with the first outgoing one clockwise from its back ray."""
    while True:
        best = np.inf
        best_in = -1
        best_out = -1
        for i in range(n):
            if w.segment[i, PARTNER] != ALIVE or w.segment[i, HEAD] >= 0 or w.group[w.link[i, NEXT], LABEL] != g:
                continue
            a = w.segment[i, EDGE]
            for o in range(n):
                if w.segment[o, PARTNER] != ALIVE or w.segment[o, TAIL] >= 0 or w.group[o, LABEL] != g:
                    continue
                b = w.segment[o, EDGE]
                angle = clockwise(-w.line[a, UX], -w.line[a, UY], w.line[b, UX], w.line[b, UY])
                if angle < best:
                    best = angle
                    best_in = i
                    best_out = o
        if best_in < 0:
            return
        join_fronts(w, best_in, best_out, node)


@compiled
def relink(w: Wave) -> None:
    """Make the new wavefront's links and velocities from its vertices and fronts."""
    for j in range(w.count[VERTICES]):
        k_in = w.fresh[j, 0]
        k_out = w.fresh[j, 1]
        w.link[j, PREV] = w.segment[k_in, TAIL]
        w.link[j, NEXT] = w.segment[k_out, HEAD]
        w.link[j, IN] = w.segment[k_in, EDGE]
        w.link[j, OUT] = w.segment[k_out, EDGE]
        w.link[j, START] = w.fresh[j, 2]
        set_velocity(w, j)


@compiled
def rejoin(w: Wave, time: float) -> bool:
    """Turn groups into nodes and arcs and pair the fronts anew; False when room runs out."""
    n = w.count[VERTICES]
    nodes_room = w.node.shape[0] - w.count[NODES]
    arcs_room = w.arc.shape[0] - w.count[ARCS]
    edges_room = w.line.shape[0] - w.count[EDGES]
    if nodes_room <= n or arcs_room <= 2 * n or edges_room <= n or w.segment.shape[0] <= 2 * n:
        return False
    cancel_fronts(w)
    for k in range(n):
        w.segment[k, TAIL] = -1
        w.segment[k, HEAD] = -1
    for g in range(n):
        if w.group[g, NODE] == 1:
            w.group[g, SIZE] = place_node(w, g, time)
    for k in range(n):
        j = w.segment[k, PARTNER]
        if j > k:
            a = w.group[w.group[k, LABEL], SIZE]
            b = w.group[w.group[w.link[k, NEXT], LABEL], SIZE]
            add_arc(w, a, b, w.segment[j, EDGE], w.segment[k, EDGE])
    w.count[SEGMENTS] = n
    w.count[VERTICES] = 0
    for g in range(n):
        if w.group[g, NODE] == 1:
            pair_at(w, g, n, w.group[g, SIZE])
        elif w.group[g, LABEL] == g:
            add_vertex(w, w.link[g, PREV], g, w.link[g, START])
    if w.count[VERTICES] >= w.link.shape[0]:
        return False
    relink(w)
    return True


@compiled
def launch(w: Wave, rings: np.ndarray) -> None:
    """Start the wavefront at the footprint's corners."""
    n = rings[-1]
    for k in range(n):
        w.segment[k, EDGE] = k
        w.segment[k, PARTNER] = ALIVE
    w.count[SEGMENTS] = n
    w.count[VERTICES] = 0
    for r in range(rings.shape[0] - 1):
        for i in range(rings[r], rings[r + 1]):
            before = i - 1 if i > rings[r] else rings[r + 1] - 1
            join_fronts(w, before, i, i)
    relink(w)
