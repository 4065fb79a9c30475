"""Basins of a tile: the cells whose first ways lead to one sink, and the edges that could join two basins.

Cells of a tile are numbered row by row. Label 0 is outside (every outlet drains there, nodata carries it too); the
other basins end in a pit, or in an exit: a cell whose way leaves the tile.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.jit import compiled

Array = NDArray[Any]


@compiled
def rim_cell(q: int, rows: int, columns: int) -> int:
    """Cell number of place ``q`` on a tile's rim: first row, last row, first column, last column."""
    if q < columns:
        return q
    if q < 2 * columns:
        return (rows - 1) * columns + q - columns
    if q < 2 * columns + rows:
        return (q - 2 * columns) * columns
    return (q - 2 * columns - rows) * columns + columns - 1


@compiled
def leaves(cell: int, k: int, rows: int, columns: int) -> bool:
    """Tell whether the neighbour of a cell in direction ``k`` lies outside the tile."""
    r, c = cell // columns, cell % columns
    if (r == 0 and k >= 5) or (r == rows - 1 and 1 <= k <= 3):
        return True
    return (c == 0 and 3 <= k <= 5) or (c == columns - 1 and (k <= 1 or k == 7))


@compiled
def label_basins(way: Array, rows: int, columns: int, step: Array, label: Array, sink: Array, todo: Array) -> int:
    """Write the basin of every cell and the sink of every basin (first the exits); return how many beside 0.

    A sweep forwards and one backwards settle most cells; sweeps over the list of the others the rest. Written without
    branches that depend on the ground. ``step`` is the change of cell number for each way, 0 from 8 on.
    """
    for cell in range(way.size):
        label[cell] = 0 if way[cell] == 8 or way[cell] == 10 else -1
    basins = 0
    for q in range(2 * (rows + columns)):
        cell = rim_cell(q, rows, columns)
        if label[cell] < 0 and way[cell] < 8 and leaves(cell, way[cell], rows, columns):
            basins += 1
            label[cell] = basins
            sink[basins] = cell
            way[cell] += 16  # so that no sweep looks out of the tile
    exits = basins
    left = 0
    for cell in range(way.size):
        todo[left] = cell
        left += 1 if way[cell] == 9 else 0
    for q in range(left):
        basins += 1
        sink[basins] = todo[q]
        label[todo[q]] = basins
    for cell in range(way.size):
        mine, theirs = label[cell], label[cell + step[way[cell]]]
        label[cell] = mine if mine >= 0 else theirs
    left = 0
    for cell in range(way.size - 1, -1, -1):
        mine, theirs = label[cell], label[cell + step[way[cell]]]
        mine = mine if mine >= 0 else theirs
        label[cell] = mine
        todo[left] = cell
        left += 1 if mine < 0 else 0
    while left > 0:  # the list runs backwards: read it from its end for a sweep forwards, then from its start
        first = left
        for q in range(left - 1, -1, -1):
            cell = todo[q]
            mine = label[cell + step[way[cell]]]
            label[cell] = mine
            todo[first - 1] = cell
            first -= 1 if mine < 0 else 0
        last = left
        left = 0
        for q in range(first, last):
            cell = todo[q]
            mine = label[cell + step[way[cell]]]
            label[cell] = mine
            todo[left] = cell
            left += 1 if mine < 0 else 0
    for b in range(1, exits + 1):
        way[sink[b]] -= 16
    return basins


@compiled
def find_edges(
    zt: Array, state: Array, r0: int, c0: int, walls: bool, mixed: bool, way: Array, lower: Array, label: Array,
    edges: Array, step: Array, todo: Array, cell_of: Array, k_of: Array, pair: Array, key: Array, top: Array,
    out_cell: Array, out_k: Array,
) -> tuple[int, int]:  # fmt: skip
    """List the edges that could join two basins, of walls or of ground; return how many inside and across the rim.

    ``mixed`` tells that the tile has both kinds. ``edges`` is `arcs.EDGES`. ``pair`` gets the two basins of an edge
    in one number, ``key`` the height of its higher cell, ``top`` the greater height of its two cells.
    """
    rows, columns = way.shape
    inside, across = 0, 0
    for r in range(rows):
        count = 0
        for c in range(columns):
            todo[count] = c
            count += 1 if edges[16 * np.int64(lower[r, c]) + way[r, c]] != 0xFFFF else 0
        for q in range(count):
            c = todo[q]
            if mixed and (state[r0 + r, c0 + c] == 1) != walls:
                continue
            m: Any = np.int64(lower[r, c])
            if way[r, c] == 8:
                m = without_nodata(zt, r, c, m)
            left: Any = np.int64(edges[16 * m + way[r, c]])
            cell = r * columns + c
            inner = 0 < r < rows - 1 and 0 < c < columns - 1
            while left & 15 != 15:
                k = left & 15
                left = (left >> 4) | 0xF000
                if not inner and leaves(cell, k, rows, columns):
                    out_cell[across] = cell
                    out_k[across] = k
                    across += 1
                    continue
                here, there = np.int64(label[cell]), np.int64(label[cell + step[k]])
                if here != there:
                    beyond = cell + step[k]
                    height = np.float64(zt[r + 1, c + 1]) + 0.0
                    cell_of[inside] = cell
                    k_of[inside] = k
                    pair[inside] = (here << 32) | there
                    key[inside] = height
                    top[inside] = height
                    if walls:
                        top[inside] = max(height, zt[beyond // columns + 1, beyond % columns + 1])
                    inside += 1
    return inside, across


@compiled
def without_nodata(zt: Array, r: int, c: int, m: int) -> int:
    """Clear the bits of neighbours without a height from a ring mask."""
    keep = 0
    keep |= 1 if zt[r + 1, c + 2] != -np.inf else 0
    keep |= 2 if zt[r + 2, c + 2] != -np.inf else 0
    keep |= 4 if zt[r + 2, c + 1] != -np.inf else 0
    keep |= 8 if zt[r + 2, c] != -np.inf else 0
    keep |= 16 if zt[r + 1, c] != -np.inf else 0
    keep |= 32 if zt[r, c] != -np.inf else 0
    keep |= 64 if zt[r, c + 1] != -np.inf else 0
    keep |= 128 if zt[r, c + 2] != -np.inf else 0
    return m & keep


@compiled
def measure_parts(
    z: Array, state: Array, r0: int, c0: int, rows: int, columns: int, walls: bool, label: Array, sink: Array,
    part: Array, cells: Array, mass: Array, low: Array,
) -> None:  # fmt: skip
    """Add up the cells of ground and find the lowest one of each part; the figures of part 0 are of no use.

    ``cells`` is scratch, a row for each basin and four counters in it: cells side by side mostly are of one basin, and
    adding to one counter again and again waits for itself.
    """
    for b in range(part.size):
        for n in range(4):
            cells[b, n] = 0
    if walls:
        for r in range(rows):
            for c in range(columns):
                cells[label[r * columns + c], 0] += 1 - (state[r0 + r, c0 + c] & 1)
    else:
        whole = label.size // 4 * 4
        for q in range(0, whole, 4):
            cells[label[q], 0] += 1
            cells[label[q + 1], 1] += 1
            cells[label[q + 2], 2] += 1
            cells[label[q + 3], 3] += 1
        for q in range(whole, label.size):
            cells[label[q], 0] += 1
    for n in range(mass.size):
        mass[n], low[n] = 0, np.inf
    for b in range(1, part.size):
        mass[part[b]] += cells[b, 0] + cells[b, 1] + cells[b, 2] + cells[b, 3]
        r, c = r0 + sink[b] // columns, c0 + sink[b] % columns
        if state[r, c] != 1:
            low[part[b]] = min(low[part[b]], z[r, c])


@compiled
def rim_parts(zt: Array, label: Array, part: Array, rim_node: Array, rim_crest: Array) -> None:
    """Write the part and the crossing height of every cell on a tile's rim."""
    rows, columns = zt.shape[0] - 2, zt.shape[1] - 2
    for q in range(rim_node.size):
        cell = rim_cell(q, rows, columns)
        rim_node[q] = part[label[cell]]
        rim_crest[q] = zt[cell // columns + 1, cell % columns + 1]
