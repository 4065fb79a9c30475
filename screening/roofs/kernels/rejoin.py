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
    X,
    Y,
    clockwise,
)


@compiled
def cancel_fronts(
    vertex: np.ndarray, line: np.ndarray, node: np.ndarray, arc: np.ndarray, front: np.ndarray, count: np.ndarray
) -> bool:
    """Close fronts whose ends have met and pairs that lie on each other; mark groups that become nodes.

    Returns False when room for nodes, arcs or edges runs out.
    """
    n = count[VERTICES]
    for k in range(n):
        vertex[k, IS_NODE] = 0
        front[k, EDGE] = vertex[k, OUT]
        front[k, TAIL] = -1
        front[k, HEAD] = -1
        front[k, STATE] = CLOSED if vertex[k, LABEL] == vertex[vertex[k, NEXT], LABEL] else ALIVE
        if vertex[k, LABEL] != k:
            vertex[vertex[k, LABEL], IS_NODE] = 1
    for k in range(n):
        if front[k, STATE] != ALIVE:
            continue
        a = vertex[k, LABEL]
        b = vertex[vertex[k, NEXT], LABEL]
        for j in range(k + 1, n):
            if front[j, STATE] == ALIVE and vertex[j, LABEL] == b and vertex[vertex[j, NEXT], LABEL] == a:
                front[k, STATE] = j
                front[j, STATE] = k
                vertex[a, IS_NODE] = 1
                vertex[b, IS_NODE] = 1
                break
    roomy = node.shape[0] - count[NODES] > n and arc.shape[0] - count[ARCS] > 2 * n
    return bool(roomy) and line.shape[0] - count[EDGES] > n and vertex.shape[0] > 2 * n


@compiled
def add_arc(arc: np.ndarray, count: np.ndarray, a: int, b: int, left: int, right: int) -> None:
    """Add an arc from node a to node b."""
    i = count[ARCS]
    arc[i, 0] = a
    arc[i, 1] = b
    arc[i, 2] = left
    arc[i, 3] = right
    count[ARCS] = i + 1


@compiled
def place_nodes(
    vertex: np.ndarray,
    motion: np.ndarray,
    line: np.ndarray,
    node: np.ndarray,
    arc: np.ndarray,
    front: np.ndarray,
    count: np.ndarray,
    time: float,
) -> None:
    """Make a node of each marked group and the arcs that lead to it, and the ridges between nodes.

    A node lies where its slowest vertex is, on the motionless line that the group touches.
    """
    n = count[VERTICES]
    for g in range(n):
        if vertex[g, IS_NODE] == 0:
            continue
        slowest = np.inf
        wall = -1
        k = count[NODES]
        count[NODES] = k + 1
        vertex[g, NODE] = k
        node[k, 2] = time
        for v in range(n):
            if vertex[v, LABEL] != g:
                continue
            a = vertex[v, IN]
            b = vertex[v, OUT]
            if line[a, SPEED] == 0.0:
                wall = a
            elif line[b, SPEED] == 0.0:
                wall = b
            speed = motion[v, VX] ** 2 + motion[v, VY] ** 2
            if vertex[v, START] != DUMMY:
                if speed < slowest:
                    slowest = speed
                    node[k, 0] = motion[v, X]
                    node[k, 1] = motion[v, Y]
                if a != b:
                    add_arc(arc, count, vertex[v, START], k, a, b)
        if wall >= 0 and slowest > 0.0:
            off = (node[k, 1] - line[wall, BY]) * line[wall, UX]
            off -= (node[k, 0] - line[wall, BX]) * line[wall, UY]
            node[k, 0] += off * line[wall, UY]
            node[k, 1] -= off * line[wall, UX]
    for k in range(n):
        j = front[k, STATE]
        if j > k:
            a = vertex[vertex[k, LABEL], NODE]
            b = vertex[vertex[vertex[k, NEXT], LABEL], NODE]
            add_arc(arc, count, a, b, front[j, EDGE], front[k, EDGE])


@compiled
def join_fronts(
    line: np.ndarray,
    source: np.ndarray,
    node: np.ndarray,
    front: np.ndarray,
    count: np.ndarray,
    k_in: int,
    k_out: int,
    start: int,
) -> None:
    """Join an incoming and an outgoing front at a node, with a step in the wall where a gable continues an eave.

    A moving front nearly in line with a motionless one would slide along it with extreme speed. The step is a
    motionless edge of no length yet, square to the moving front, that grows as the front moves away.
    """
    a = front[k_in, EDGE]
    b = front[k_out, EDGE]
    along = line[a, UX] * line[b, UX] + line[a, UY] * line[b, UY]
    turn = line[a, UX] * line[b, UY] - line[a, UY] * line[b, UX]
    k = k_out
    if line[a, SPEED] != line[b, SPEED] and along > 0.0 and abs(turn) < NEARLY_PARALLEL:
        e = count[EDGES]
        count[EDGES] = e + 1
        still = a if line[a, SPEED] == 0.0 else b
        moving = b if still == a else a
        way = 1.0 if still == a else -1.0
        line[e, UX] = -way * line[moving, UY]
        line[e, UY] = way * line[moving, UX]
        line[e, SPEED] = 0.0
        line[e, BX] = node[start, 0]
        line[e, BY] = node[start, 1]
        source[e] = source[still]
        k = count[SEGMENTS]
        count[SEGMENTS] = k + 1
        front[k, EDGE] = e
    j = count[VERTICES]
    front[j, NEW_IN] = k_in
    front[j, NEW_OUT] = k
    front[j, NEW_START] = start
    front[k_in, HEAD] = j
    front[k, TAIL] = j
    if k != k_out:
        j += 1
        front[j, NEW_IN] = k
        front[j, NEW_OUT] = k_out
        front[j, NEW_START] = start
        front[k, HEAD] = j
        front[k_out, TAIL] = j
    count[VERTICES] = j + 1


@compiled
def pair_fronts(
    vertex: np.ndarray, line: np.ndarray, source: np.ndarray, node: np.ndarray, front: np.ndarray, count: np.ndarray
) -> None:
    """Make the new vertices: at each node, each incoming front goes on as the first one clockwise from its back ray."""
    n = count[VERTICES]
    count[VERTICES] = 0
    count[SEGMENTS] = n
    for i in range(n):
        if front[i, STATE] != ALIVE:
            continue
        g = vertex[vertex[i, NEXT], LABEL]
        start = vertex[g, NODE] if vertex[g, IS_NODE] == 1 else vertex[g, START]
        best = np.inf
        follows = g if vertex[g, IS_NODE] == 0 else -1
        a = front[i, EDGE]
        for o in range(n if follows < 0 else 0):
            if vertex[o, LABEL] != g or front[o, STATE] != ALIVE or front[o, TAIL] >= 0:
                continue
            b = front[o, EDGE]
            angle = clockwise(-line[a, UX], -line[a, UY], line[b, UX], line[b, UY])
            if angle < best:
                best = angle
                follows = o
        if follows >= 0:
            join_fronts(line, source, node, front, count, i, follows, start)


@compiled
def relink(
    vertex: np.ndarray,
    motion: np.ndarray,
    line: np.ndarray,
    node: np.ndarray,
    front: np.ndarray,
    count: np.ndarray,
    time: float,
) -> None:
    """Link the new vertices, and give each the velocity and place at which its two fronts meet."""
    for j in range(count[VERTICES]):
        vertex[j, PREV] = front[front[j, NEW_IN], TAIL]
        vertex[j, NEXT] = front[front[j, NEW_OUT], HEAD]
        a = front[front[j, NEW_IN], EDGE]
        b = front[front[j, NEW_OUT], EDGE]
        vertex[j, IN] = a
        vertex[j, OUT] = b
        k = front[j, NEW_START]
        vertex[j, START] = k
        ax = -line[a, UY]
        ay = line[a, UX]
        bx = -line[b, UY]
        by = line[b, UX]
        sa = line[a, SPEED]
        sb = line[b, SPEED]
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
            vx = -SPIKE * line[a, UX]
            vy = -SPIKE * line[a, UY]
        else:
            vx = (sa * by - sb * ay) / det
            vy = (sb * ax - sa * bx) / det
        motion[j, VX] = vx
        motion[j, VY] = vy
        motion[j, X] = node[k, 0] + vx * (time - node[k, 2])
        motion[j, Y] = node[k, 1] + vy * (time - node[k, 2])
