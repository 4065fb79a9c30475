"""Where a garden's overflow goes: down the fall line of the smoothed ground, and from cell to cell where it is flat."""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled

__all__ = ["cells_way", "fall_line", "garden_overflow", "garden_overflows"]

LEAST_SLOPE = 0.002
"""Flatter ground has no fall line that could be trusted. [m/m]"""

HALF_LENGTH_M = 1.5
"""Half the length of a small garden: its overflow may be let out in the middle of its lower edge or to either side."""

UNKNOWN = 0
STOPPED = -1


@compiled
def fall_line(x: float, y: float, ends: Any, east: Any, rise_north: Any, p: Any) -> int:
    """What the fall line from a place meets within reach: a building's number, 0 when it peters out, else -1.

    Parameters
    ----------
    x, y
        The place.
    ends
        Label of each elevation cell: -1 ends water's way, above 0 the setback of that building, 0 neither.
    east, rise_north
        Gradient of the smoothed ground. [m/m]
    p
        ``west, north, cell_x, cell_y`` of the cells; ``overflow_reach``, the longest line that matters. [m]
    """
    step = 0.5 * min(p.cell_x, p.cell_y)
    rows, columns = east.shape
    left = False
    for _ in range(int(p.overflow_reach / step)):
        row = math.floor((p.north - y) / p.cell_y)
        column = math.floor((x - p.west) / p.cell_x)
        if row < 0 or column < 0 or row >= rows or column >= columns:
            return STOPPED
        end = ends[row, column]
        if end < 0:
            return STOPPED
        if end > 0 and left:
            return int(end)
        left = left or end == 0  # a garden may touch a setback that it lies beside
        gx = east[row, column]
        gy = rise_north[row, column]
        size = math.sqrt(gx * gx + gy * gy)
        if not size >= LEAST_SLOPE:
            return UNKNOWN
        x -= step * gx / size
        y -= step * gy / size
    return STOPPED


@compiled
def cells_way(row: int, column: int, ends: Any, direction: Any, p: Any) -> int:
    """What water meets within reach that runs from cell to cell: a building's number, else -1.

    ``direction``: D8 codes; the others as in ``fall_line``.
    """
    diagonal = math.hypot(p.cell_x, p.cell_y)
    length = 0.0
    left = False
    while length <= p.overflow_reach:
        end = ends[row, column]
        if end < 0:
            return STOPPED
        if end > 0 and left:
            return int(end)
        left = left or end == 0
        code = direction[row, column]
        if code == 0 or code == 255:
            return STOPPED
        across = 1 if code == 1 or code == 2 or code == 128 else (-1 if code == 8 or code == 16 or code == 32 else 0)
        down = 1 if code == 2 or code == 4 or code == 8 else (-1 if code == 32 or code == 64 or code == 128 else 0)
        length += diagonal if across != 0 and down != 0 else (p.cell_x if across != 0 else p.cell_y)
        row += down
        column += across
        if row < 0 or column < 0 or row >= ends.shape[0] or column >= ends.shape[1]:
            return STOPPED
    return STOPPED


@compiled
def garden_overflow(x: float, y: float, ends: Any, east: Any, rise_north: Any, direction: Any, p: Any) -> int:
    """What the overflow of a garden meets within reach: a building's number, else -1.

    Let out in the middle of the lower edge or at either end of it, two of these three ways must meet a building; where
    the fall line from the middle peters out on flat ground, the way from cell to cell tells. Parameters are those of
    ``fall_line`` and ``cells_way``.
    """
    row = math.floor((p.north - y) / p.cell_y)
    column = math.floor((x - p.west) / p.cell_x)
    gx = east[row, column]
    gy = rise_north[row, column]
    size = math.sqrt(gx * gx + gy * gy)
    if not size >= LEAST_SLOPE:
        return cells_way(row, column, ends, direction, p)
    met = STOPPED
    building = 0
    count = 0
    for side in range(3):
        if side == 2 and count != 1:
            continue  # two ways have settled it
        aside = (side + 1) % 3 - 1  # the middle first
        end = fall_line(
            x - aside * HALF_LENGTH_M * gy / size, y + aside * HALF_LENGTH_M * gx / size, ends, east, rise_north, p
        )
        if end > 0:
            count += 1
            building = end if building == 0 else building
        if side == 0:
            met = end
    if count >= 2:
        return building
    return cells_way(row, column, ends, direction, p) if met == UNKNOWN else STOPPED


@compiled
def garden_overflows(x: Any, y: Any, ends: Any, east: Any, rise_north: Any, direction: Any, p: Any, out: Any) -> None:
    """``garden_overflow`` of many places; written in place."""
    for i in range(x.shape[0]):
        out[i] = garden_overflow(x[i], y[i], ends, east, rise_north, direction, p)
