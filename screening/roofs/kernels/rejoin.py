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
        w.group[k, IS_NODE] = 0
        w.segment[k, EDGE] = w.link[k, OUT]
        w.segment[k, TAIL] = -1
        w.segment[k, HEAD] = -1
        w.segment[k, STATE] = CLOSED if w.group[k, LABEL] == w.group[w.link[k, NEXT], LABEL] else ALIVE
        if w.group[k, LABEL] != k:
            w.group[w.group[k, LABEL], IS_NODE] = 1
    for k in range(n):
        if w.segment[k, STATE] != ALIVE:
            continue
        a = w.group[k, LABEL]
        b = w.group[w.link[k, NEXT], LABEL]
        for j in range(k + 1, n):
            if w.segment[j, STATE] == ALIVE and w.group[j, LABEL] == b and w.group[w.link[j, NEXT], LABEL] == a:
                w.segment[k, STATE] = j
                w.segment[j, STATE] = k
                w.group[a, IS_NODE] = 1
                w.group[b, IS_NODE] = 1
                break
    roomy = w.node.shape[0] - w.count[NODES] > n and w.arc.shape[0] - w.count[ARCS] > 2 * n
    return roomy and w.line.shape[0] - w.count[EDGES] > n and w.segment.shape[0] > 2 * n and w.fresh.shape[0] > 2 * n


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
        if w.group[g, IS_NODE] == 0:
            continue
        slowest = np.inf
        wall = -1
        k = w.count[NODES]
        w.count[NODES] = k + 1
        w.group[g, NODE] = k
        w.node[k, 2] = time
        for v in range(n):
            if w.group[v, LABEL] != g:
                continue
            a = w.link[v, IN]
            b = w.link[v, OUT]
            if w.line[a, SPEED] == 0.0:
                wall = a
            elif w.line[b, SPEED] == 0.0:
                wall = b
            speed = w.motion[v, VX] ** 2 + w.motion[v, VY] ** 2
            if w.link[v, START] != DUMMY:
                if speed < slowest:
                    slowest = speed
                    w.node[k, 0] = w.motion[v, X]
                    w.node[k, 1] = w.motion[v, Y]
                if a != b:
                    add_arc(w, w.link[v, START], k, a, b)
        if wall >= 0 and slowest > 0.0:
            off = (w.node[k, 1] - w.line[wall, BY]) * w.line[wall, UX]
            off -= (w.node[k, 0] - w.line[wall, BX]) * w.line[wall, UY]
            w.node[k, 0] += off * w.line[wall, UY]
            w.node[k, 1] -= off * w.line[wall, UX]
    for k in range(n):
        j = w.segment[k, STATE]
        if j > k:
            a = w.group[w.group[k, LABEL], NODE]
            b = w.group[w.group[w.link[k, NEXT], LABEL], NODE]
            add_arc(w, a, b, w.segment[j, EDGE], w.segment[k, EDGE])


@compiled
def join_fronts(w: Wave, k_in: int, k_out: int, node: int) -> None:
    """Join an incoming and an outgoing front at a node, with a step in the wall where a gable continues an eave.

    A moving front nearly in line with a motionless one would slide along it with extreme speed. The step is a
    motionless edge of no length yet, square to the moving front, that grows as the front moves away.
    """
    a = w.segment[k_in, EDGE]
    b = w.segment[k_out, EDGE]
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
        w.segment[k, EDGE] = e
    j = w.count[VERTICES]
    w.fresh[j, 0] = k_in
    w.fresh[j, 1] = k
    w.fresh[j, 2] = node
    w.segment[k_in, HEAD] = j
    w.segment[k, TAIL] = j
    if k != k_out:
        j += 1
        w.fresh[j, 0] = k
        w.fresh[j, 1] = k_out
        w.fresh[j, 2] = node
        w.segment[k, HEAD] = j
        w.segment[k_out, TAIL] = j
    w.count[VERTICES] = j + 1


@compiled
def pair_fronts(w: Wave) -> None:
    """Make the new vertices: at each node, each incoming front goes on as the first one clockwise from its back ray."""
    n = w.count[VERTICES]
    w.count[VERTICES] = 0
    w.count[SEGMENTS] = n
    for i in range(n):
        if w.segment[i, STATE] != ALIVE:
            continue
        g = w.group[w.link[i, NEXT], LABEL]
        node = w.group[g, NODE] if w.group[g, IS_NODE] == 1 else w.link[g, START]
        best = np.inf
        follows = g if w.group[g, IS_NODE] == 0 else -1
        a = w.segment[i, EDGE]
        for o in range(n if follows < 0 else 0):
            if w.group[o, LABEL] != g or w.segment[o, STATE] != ALIVE or w.segment[o, TAIL] >= 0:
                continue
            b = w.segment[o, EDGE]
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
        w.link[j, PREV] = w.segment[w.fresh[j, 0], TAIL]
        w.link[j, NEXT] = w.segment[w.fresh[j, 1], HEAD]
        a = w.segment[w.fresh[j, 0], EDGE]
        b = w.segment[w.fresh[j, 1], EDGE]
        w.link[j, IN] = a
        w.link[j, OUT] = b
        k = w.fresh[j, 2]
        w.link[j, START] = k
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
