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
def label_basins(way: Array, rows: int, columns: int, step: Array, label: Array, sink: Array) -> int:
    """Write the basin of every cell and the sink of every basin; return the number of basins beside 0.

    Two sweeps settle most cells; the rest follow their way to one that is settled. ``step`` is the change of cell
    number for each way, 0 from 8 on.
    """
    basins = 0
    label[:] = -1
    for q in range(2 * (rows + columns)):
        cell = rim_cell(q, rows, columns)
        if label[cell] < 0 and way[cell] < 8 and leaves(cell, way[cell], rows, columns):
            basins += 1
            label[cell] = basins
            sink[basins] = cell
    for cell in range(way.size):
        if way[cell] >= 8:
            if way[cell] == 9:
                basins += 1
                sink[basins] = cell
                label[cell] = basins
            else:
                label[cell] = 0
        elif label[cell] < 0:
            label[cell] = label[cell + step[way[cell]]]
    for cell in range(way.size - 1, -1, -1):
        found = label[cell]
        label[cell] = found if found >= 0 else label[cell + step[way[cell]]]
    for cell in range(way.size):
        if label[cell] < 0:
            end = cell
            while label[end] < 0:
                end += step[way[end]]
            found = label[end]
            end = cell
            while label[end] < 0:
                label[end] = found
                end += step[way[end]]
    return basins


@compiled
def find_edges(
    zt: Array,
    state: Array,
    r0: int,
    c0: int,
    walls: bool,
    mixed: bool,
    way: Array,
    lower: Array,
    label: Array,
    lead: Array,
    step: Array,
    cell_of: Array,
    k_of: Array,
    key: Array,
    out_cell: Array,
    out_k: Array,
) -> tuple[int, int]:
    """List the edges that could join two basins, of walls or of ground; return how many inside and across the rim.

    ``mixed`` tells that the tile has both kinds.
    ``lead[m, a]`` is the bits of arc ``a`` of the ring mask ``m``; of an arc only the lowest direction matters, as
    every other edge is the greatest of a circle, and nothing of the arc that holds the way.
    """
    rows, columns = way.shape
    inside, across = 0, 0
    for r in range(rows):
        for c in range(columns):
            k_way = way[r, c]
            m = lower[r, c]
            if k_way > 9 or m == 0 or (k_way < 8 and lead[m, 1] == 0):
                continue
            if mixed and (state[r0 + r, c0 + c] == 1) != walls:
                continue
            z = zt[r + 1, c + 1]
            cell = r * columns + c
            if k_way == 8:
                m = without_nodata(zt, r, c, m)
            for a in range(4):
                arc = lead[m, a]
                if arc == 0:
                    break
                if k_way < 8 and (arc >> k_way) & 1:
                    continue
                k = 0
                while not (arc >> k) & 1:
                    k += 1
                if leaves(cell, k, rows, columns):
                    out_cell[across] = cell
                    out_k[across] = k
                    across += 1
                elif label[cell] != label[cell + step[k]]:
                    cell_of[inside] = cell
                    k_of[inside] = k
                    key[inside] = np.float64(z) + 0.0
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
    z: Array,
    state: Array,
    r0: int,
    c0: int,
    rows: int,
    columns: int,
    label: Array,
    sink: Array,
    part: Array,
    cells: Array,
    mass: Array,
    low: Array,
) -> None:
    """Add up the cells of ground and find the lowest one of each part; ``cells`` is scratch, one for each basin."""
    cells[:] = 0
    for r in range(rows):
        for c in range(columns):
            s = state[r0 + r, c0 + c]
            cells[label[r * columns + c]] += 1 if s == 0 or s == 2 else 0
    mass[:] = 0
    mass[0] = cells[0]
    low[:] = np.inf
    for b in range(1, part.size):
        mass[part[b]] += cells[b]
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
