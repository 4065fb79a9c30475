"""The window of mask cells that one lot is searched in, and the lattice of centres there."""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled
from screening.siting.kernels.line_kernels import DETAILS

__all__ = ["core_clear", "fill_level", "lot_window", "next_centre"]


@compiled
def lot_window(lot: int, world: Any, out: Any) -> None:
    """Mask rows and columns within reach of the lot's downspouts and inside its bounds; zeros when there are none."""
    p = world.limits
    bounds = world.lots[lot]
    reach = p.run_limit
    low_x = math.inf
    high_x = -math.inf
    low_y = math.inf
    high_y = -math.inf
    for s in range(world.lots[lot].first_spout, world.lots[lot + 1].first_spout):
        spout = world.spouts[s]
        if spout.worth != 0:
            low_x = min(low_x, spout.x)
            high_x = max(high_x, spout.x)
            low_y = min(low_y, spout.y)
            high_y = max(high_y, spout.y)
    for i in range(4):
        out[i] = 0
    if low_x == math.inf:
        return
    west = max(low_x - reach, bounds.west)
    east = min(high_x + reach, bounds.east)
    south = max(low_y - reach, bounds.south)
    north = min(high_y + reach, bounds.north)
    if west >= east or south >= north:
        return
    cell_x = 0.5 * p.cell_x
    cell_y = 0.5 * p.cell_y
    out[0] = max(math.floor((p.north - north) / cell_y), 0)
    out[1] = max(min(math.floor((p.north - south) / cell_y) + 1, world.lot.shape[0]), out[0])
    out[2] = max(math.floor((west - p.west) / cell_x), 0)
    out[3] = max(min(math.floor((east - p.west) / cell_x) + 1, world.lot.shape[1]), out[2])


@compiled
def fill_level(lot: int, window: Any, world: Any, level: Any) -> int:
    """Fill the flat window of a lot, with a closed border as wide as a footprint reaches; count the cells not closed.

    0 clear, 1 to look at, 2 steeper than the limit and its error, 3 closed; which of these there are is noted in
    ``window[8]``, as bits.
    """
    p = world.limits
    border = p.template_reach
    width = window[4]
    first = window[2]
    last = window[3]
    closed_bits = p.closed_bits
    look_bits = p.look_bits
    level[:] = 3
    open_cells = 0
    kinds = 1 << 3
    for row in range(window[0], window[1]):
        at = (row - window[0] + border) * width - first + border
        for column in range(first, last):
            if world.lot[row, column] != lot:
                continue
            bits = world.bits[row, column]
            if (bits & closed_bits) != 0:
                continue
            flag = world.flags[row // 2, column // 2]
            if flag == 0 and (bits & look_bits) != 0:
                flag = 1
            level[at + column] = flag
            kinds |= 1 << flag
            open_cells += 1
    window[8] = kinds
    return open_cells


@compiled
def core_clear(level: Any, at: int, width: int, core: Any, count: int) -> bool:
    """Whether no closed cell lies among the first so many of those that every footprint around a mask cell covers."""
    i = 0
    while i < count and level[at + core[i, 0] * width + core[i, 1]] != 3:
        i += 1
    return i == count


@compiled
def next_centre(record: Any, fine: int, place: Any, level: Any, p: Any) -> bool:
    """Put the next centre of a lattice that is not closed into a record; false when there is none.

    ``place[5]``, ``place[6]``, ``place[7]``: row, column and point of the cell that comes next; a point below 0 begins
    the lattice. It runs over mask cells by row, the finer one over the points of each cell.
    """
    stride = 1 if fine == 1 else p.stride
    parts = p.fine_parts if fine == 1 else 1
    first_column = place[2] + (-place[2]) % stride
    last_column = place[3]
    if place[7] < 0:
        place[5] = place[0] + (-place[0]) % stride
        place[6] = first_column
        place[7] = 0
    row = place[5]
    column = place[6]
    found = False
    while row < place[1] and not found:
        at = (row - place[0] + p.template_reach) * place[4] - place[2] + p.template_reach
        while column < last_column and level[at + column] == 3:
            column += stride
        if column < last_column:
            found = True
        else:
            row += stride
            column = first_column
    part = place[7]
    place[5] = row
    place[6] = column
    place[7] = part + 1
    if place[7] == parts * parts:
        place[6] += stride
        place[7] = 0
    if found:
        x = p.west + (column + (part % parts + 0.5) / parts) * 0.5 * p.cell_x
        y = p.north - (row + (part // parts + 0.5) / parts) * 0.5 * p.cell_y
        record[14] = row
        record[15] = column
        record[16] = fine
        record[DETAILS] = math.floor(x * 1e6 + 0.5) / 1e6
        record[DETAILS + 1] = math.floor(y * 1e6 + 0.5) / 1e6
    return found
