"""The window of mask cells that one lot is searched in."""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled

__all__ = ["core_clear", "fill_level", "lot_window"]


@compiled
def lot_window(lot: int, world: Any, out: Any) -> None:
    """Mask rows and columns within reach of the lot's downspouts and inside its bounds; zeros when there are none."""
    spouts = world.spouts
    mask = world.mask
    ground = world.ground
    reach = world.limits.run_limit
    low_x = math.inf
    high_x = -math.inf
    low_y = math.inf
    high_y = -math.inf
    for s in range(spouts.first[lot], spouts.first[lot + 1]):
        if spouts.worth[s]:
            low_x = min(low_x, spouts.x[s])
            high_x = max(high_x, spouts.x[s])
            low_y = min(low_y, spouts.y[s])
            high_y = max(high_y, spouts.y[s])
    out[:] = 0
    if low_x == math.inf:
        return
    west = max(low_x - reach, mask.west[lot])
    east = min(high_x + reach, mask.east[lot])
    south = max(low_y - reach, mask.south[lot])
    north = min(high_y + reach, mask.north[lot])
    if west >= east or south >= north:
        return
    cell_x = 0.5 * ground.cell_x
    cell_y = 0.5 * ground.cell_y
    out[0] = max(int(math.floor((ground.north - north) / cell_y)), 0)
    out[1] = max(min(int(math.floor((ground.north - south) / cell_y)) + 1, mask.lot.shape[0]), out[0])
    out[2] = max(int(math.floor((west - ground.west) / cell_x)), 0)
    out[3] = max(min(int(math.floor((east - ground.west) / cell_x)) + 1, mask.lot.shape[1]), out[2])


@compiled
def fill_level(lot: int, window: Any, world: Any, level: Any) -> int:
    """Fill the flat window of a lot, with a closed border as wide as a footprint reaches; count the cells not closed.

    0 clear, 1 to look at, 2 steeper than the limit and its error, 3 closed.
    """
    mask = world.mask
    ground = world.ground
    p = world.limits
    border = world.shapes.reach
    width = window[3] - window[2] + 2 * border
    level[:] = 3
    open_cells = 0
    for row in range(window[0], window[1]):
        for column in range(window[2], window[3]):
            if mask.lot[row, column] != lot or (mask.bits[row, column] & mask.closed_bits) != 0:
                continue
            slope = ground.slope_pct[row // 2, column // 2]
            flag = 0
            if slope > p.slope_out:
                flag = 2
            elif (
                slope >= p.slope_look
                or ground.upslope[row // 2, column // 2] * p.cell_area >= p.upslope_look
                or (mask.bits[row, column] & mask.look_bits) != 0
            ):
                flag = 1
            level[(row - window[0] + border) * width + column - window[2] + border] = flag
            open_cells += 1
    return open_cells


@compiled
def core_clear(level: Any, at: int, width: int, shapes: Any) -> bool:
    """Whether no closed cell lies in the circle that every footprint around a mask cell covers."""
    for i in range(shapes.core_rows.shape[0]):
        if level[at + shapes.core_rows[i] * width + shapes.core_columns[i]] == 3:
            return False
    return True
