"""The graph of what crosses tile edges: which tile edges belong to the tree, and what follows from it."""

from __future__ import annotations

from typing import Any

from numpy.typing import NDArray

from screening.jit import compiled
from screening.terrain.kernels.contract import find

Array = NDArray[Any]


@compiled
def far_ends(
    cells: Array,
    ways: Array,
    columns: int,
    rows: int,
    tile: int,
    step_r: Array,
    step_c: Array,
    rim_start: Array,
    rim_node: Array,
    rim_crest: Array,
    node: Array,
    crest: Array,
) -> None:
    """Look up the node and the crest of the cells that edges across tile rims lead to.

    ``cells`` are linear indices on the raster, ``rim_start`` the place of each tile's rim in ``rim_node`` and
    ``rim_crest``.
    """
    across = (columns + tile - 1) // tile
    for q in range(cells.size):
        r, c = cells[q] // columns + step_r[ways[q]], cells[q] % columns + step_c[ways[q]]
        i, j = r // tile, c // tile
        high, wide = min(tile, rows - i * tile), min(tile, columns - j * tile)
        y, x = r - i * tile, c - j * tile
        place = rim_start[i * across + j]
        if y == 0:
            place += x
        elif y == high - 1:
            place += wide + x
        elif x == 0:
            place += 2 * wide + y
        else:
            place += 2 * wide + high + y
        node[q] = rim_node[place]
        crest[q] = rim_crest[place]


@compiled
def least_tree(near: Array, far: Array, order: Array, parent: Array, chosen: Array) -> int:
    """Join nodes along edges in their order (Kruskal); list the edges of the tree and return how many."""
    count = 0
    for q in range(order.size):
        x, y = find(parent, near[order[q]]), find(parent, far[order[q]])
        if x != y:
            parent[max(x, y)] = min(x, y)
            chosen[count] = order[q]
            count += 1
    return count


@compiled
def root_tree(near: Array, far: Array, start: Array, slot: Array, up_edge: Array, queue: Array) -> int:
    """Hang the tree from node 0, breadth first; write each node's edge towards the root, return the nodes reached.

    ``slot`` gets the edges of each node, from ``start``, which holds running sums of the nodes' numbers of edges.
    """
    nodes = up_edge.size
    for e in range(near.size - 1, -1, -1):
        start[near[e]] -= 1
        slot[start[near[e]]] = e
        start[far[e]] -= 1
        slot[start[far[e]]] = e
    reached = 1
    queue[0] = 0
    up_edge[:] = -1
    first = 0
    while first < reached:
        n = queue[first]
        first += 1
        last = start[n + 1] if n + 1 < nodes else 2 * near.size
        for s in range(start[n], last):
            e = slot[s]
            if e == up_edge[n]:
                continue
            there = far[e] if near[e] == n else near[e]
            up_edge[there] = e
            queue[reached] = there
            reached += 1
    return reached


@compiled
def follow_nodes(
    queue: Array,
    up_edge: Array,
    near: Array,
    far: Array,
    top: Array,
    wall: Array,
    up: Array,
    level: Array,
    enclosed: Array,
    mass: Array,
    low: Array,
) -> None:
    """Carry levels and enclosure down from the root, then cells and lowest heights up to it."""
    for q in range(1, queue.size):
        n = queue[q]
        e = up_edge[n]
        up[n] = far[e] if near[e] == n else near[e]
        level[n] = max(top[e], level[up[n]])
        enclosed[n] = wall[e] or enclosed[up[n]]
    for q in range(queue.size - 1, 0, -1):
        n = queue[q]
        mass[up[n]] += mass[n]
        low[up[n]] = min(low[up[n]], low[n])
