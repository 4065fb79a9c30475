"""The window of mask cells that one lot is searched in."""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled

__all__ = ["core_clear", "fill_level", "lot_window"]


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

    0 clear, 1 to look at, 2 steeper than the limit and its error, 3 closed.
    """
    p = world.limits
    border = p.template_reach
    width = window[4]
    for i in range(level.shape[0]):
        level[i] = 3
    open_cells = 0
    for row in range(window[0], window[1]):
        for column in range(window[2], window[3]):
            if world.lot[row, column] != lot or (world.bits[row, column] & p.closed_bits) != 0:
                continue
            flag = world.flags[row // 2, column // 2]
            if flag == 0 and (world.bits[row, column] & p.look_bits) != 0:
                flag = 1
            level[(row - window[0] + border) * width + column - window[2] + border] = flag
            open_cells += 1
    return open_cells


@compiled
def core_clear(level: Any, at: int, width: int, core: Any) -> bool:
    """Whether no closed cell lies in the circle that every footprint around a mask cell covers."""
    clear = True
    for i in range(core.shape[0]):
        clear = clear and level[at + core[i, 0] * width + core[i, 1]] != 3
    return clear
