"""What happens at an event, second half: groups become nodes, fronts that lie on each other cancel, the rest is paired.

What is left at a node is paired anew by the directions of the edges alone.
"""

from __future__ import annotations

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.wave import (
    ALIVE,
    ARCS,
    BX,
    BY,
    CLOSED,
    DUMMY,
    EDGE,
    EDGES,
    HEAD,
    IN,
    IS_NODE,
    LABEL,
    NEARLY_PARALLEL,
    NEW_IN,
    NEW_OUT,
    NEW_START,
    NEXT,
    NODE,
    NODES,
    OUT,
    PREV,
    SEGMENTS,
    SPEED,
    SPIKE,
    START,
    STATE,
    TAIL,
    UX,
    UY,
    VERTICES,
    VX,
    VY,
    Wave,
    X,
    Y,
    clockwise,
)


@compiled
def cancel_fronts(w: Wave) -> bool:
    """Close fronts whose ends have met and pairs that lie on each other; mark groups that become nodes.

    Returns False when room for nodes, arcs or edges runs out.
    """
    n = w.count[VERTICES]
    for k in range(n):
        w.vertex[k, IS_NODE] = 0
        w.front[k, EDGE] = w.vertex[k, OUT]
        w.front[k, TAIL] = -1
        w.front[k, HEAD] = -1
        w.front[k, STATE] = CLOSED if w.vertex[k, LABEL] == w.vertex[w.vertex[k, NEXT], LABEL] else ALIVE
        if w.vertex[k, LABEL] != k:
            w.vertex[w.vertex[k, LABEL], IS_NODE] = 1
    for k in range(n):
        if w.front[k, STATE] != ALIVE:
            continue
        a = w.vertex[k, LABEL]
        b = w.vertex[w.vertex[k, NEXT], LABEL]
        for j in range(k + 1, n):
            if w.front[j, STATE] == ALIVE and w.vertex[j, LABEL] == b and w.vertex[w.vertex[j, NEXT], LABEL] == a:
                w.front[k, STATE] = j
                w.front[j, STATE] = k
                w.vertex[a, IS_NODE] = 1
                w.vertex[b, IS_NODE] = 1
                break
    roomy = w.node.shape[0] - w.count[NODES] > n and w.arc.shape[0] - w.count[ARCS] > 2 * n
    return roomy and w.line.shape[0] - w.count[EDGES] > n and w.vertex.shape[0] > 2 * n


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
def place_nodes(w: Wave, time: float) -> None:
    """Make a node of each marked group and the arcs that lead to it, and the ridges between nodes.

    A node lies where its slowest vertex is, on the motionless line that the group touches.
    """
    n = w.count[VERTICES]
    for g in range(n):
        if w.vertex[g, IS_NODE] == 0:
            continue
        slowest = np.inf
        wall = -1
        k = w.count[NODES]
        w.count[NODES] = k + 1
        w.vertex[g, NODE] = k
        w.node[k, 2] = time
        for v in range(n):
            if w.vertex[v, LABEL] != g:
                continue
            a = w.vertex[v, IN]
            b = w.vertex[v, OUT]
            if w.line[a, SPEED] == 0.0:
                wall = a
            elif w.line[b, SPEED] == 0.0:
                wall = b
            speed = w.motion[v, VX] ** 2 + w.motion[v, VY] ** 2
            if w.vertex[v, START] != DUMMY:
                if speed < slowest:
                    slowest = speed
                    w.node[k, 0] = w.motion[v, X]
                    w.node[k, 1] = w.motion[v, Y]
                if a != b:
                    add_arc(w, w.vertex[v, START], k, a, b)
        if wall >= 0 and slowest > 0.0:
            off = (w.node[k, 1] - w.line[wall, BY]) * w.line[wall, UX]
            off -= (w.node[k, 0] - w.line[wall, BX]) * w.line[wall, UY]
            w.node[k, 0] += off * w.line[wall, UY]
            w.node[k, 1] -= off * w.line[wall, UX]
    for k in range(n):
        j = w.front[k, STATE]
        if j > k:
            a = w.vertex[w.vertex[k, LABEL], NODE]
            b = w.vertex[w.vertex[w.vertex[k, NEXT], LABEL], NODE]
            add_arc(w, a, b, w.front[j, EDGE], w.front[k, EDGE])


@compiled
def join_fronts(w: Wave, k_in: int, k_out: int, node: int) -> None:
    """Join an incoming and an outgoing front at a node, with a step in the wall where a gable continues an eave.

    A moving front nearly in line with a motionless one would slide along it with extreme speed. The step is a
    motionless edge of no length yet, square to the moving front, that grows as the front moves away.
    """
    a = w.front[k_in, EDGE]
    b = w.front[k_out, EDGE]
    along = w.line[a, UX] * w.line[b, UX] + w.line[a, UY] * w.line[b, UY]
    turn = w.line[a, UX] * w.line[b, UY] - w.line[a, UY] * w.line[b, UX]
    k = k_out
    if w.line[a, SPEED] != w.line[b, SPEED] and along > 0.0 and abs(turn) < NEARLY_PARALLEL:
        e = w.count[EDGES]
        w.count[EDGES] = e + 1
        still = a if w.line[a, SPEED] == 0.0 else b
        moving = b if still == a else a
        way = 1.0 if still == a else -1.0
        w.line[e, UX] = -way * w.line[moving, UY]
        w.line[e, UY] = way * w.line[moving, UX]
        w.line[e, SPEED] = 0.0
        w.line[e, BX] = w.node[node, 0]
        w.line[e, BY] = w.node[node, 1]
        w.source[e] = w.source[still]
        k = w.count[SEGMENTS]
        w.count[SEGMENTS] = k + 1
        w.front[k, EDGE] = e
    j = w.count[VERTICES]
    w.front[j, NEW_IN] = k_in
    w.front[j, NEW_OUT] = k
    w.front[j, NEW_START] = node
    w.front[k_in, HEAD] = j
    w.front[k, TAIL] = j
    if k != k_out:
        j += 1
        w.front[j, NEW_IN] = k
        w.front[j, NEW_OUT] = k_out
        w.front[j, NEW_START] = node
        w.front[k, HEAD] = j
        w.front[k_out, TAIL] = j
    w.count[VERTICES] = j + 1


@compiled
def pair_fronts(w: Wave) -> None:
    """Make the new vertices: at each node, each incoming front goes on as the first one clockwise from its back ray."""
    n = w.count[VERTICES]
    w.count[VERTICES] = 0
    w.count[SEGMENTS] = n
    for i in range(n):
        if w.front[i, STATE] != ALIVE:
            continue
        g = w.vertex[w.vertex[i, NEXT], LABEL]
        node = w.vertex[g, NODE] if w.vertex[g, IS_NODE] == 1 else w.vertex[g, START]
        best = np.inf
        follows = g if w.vertex[g, IS_NODE] == 0 else -1
        a = w.front[i, EDGE]
        for o in range(n if follows < 0 else 0):
            if w.vertex[o, LABEL] != g or w.front[o, STATE] != ALIVE or w.front[o, TAIL] >= 0:
                continue
            b = w.front[o, EDGE]
            angle = clockwise(-w.line[a, UX], -w.line[a, UY], w.line[b, UX], w.line[b, UY])
            if angle < best:
                best = angle
                follows = o
        if follows >= 0:
            join_fronts(w, i, follows, node)


@compiled
def relink(w: Wave, time: float) -> None:
    """Link the new vertices, and give each the velocity and place at which its two fronts meet."""
    for j in range(w.count[VERTICES]):
        w.vertex[j, PREV] = w.front[w.front[j, NEW_IN], TAIL]
        w.vertex[j, NEXT] = w.front[w.front[j, NEW_OUT], HEAD]
        a = w.front[w.front[j, NEW_IN], EDGE]
        b = w.front[w.front[j, NEW_OUT], EDGE]
        w.vertex[j, IN] = a
        w.vertex[j, OUT] = b
        k = w.front[j, NEW_START]
        w.vertex[j, START] = k
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
        w.motion[j, VX] = vx
        w.motion[j, VY] = vy
        w.motion[j, X] = w.node[k, 0] + vx * (time - w.node[k, 2])
        w.motion[j, Y] = w.node[k, 1] + vy * (time - w.node[k, 2])
