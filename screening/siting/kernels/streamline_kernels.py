"""Where a garden's overflow goes: down the fall line of the smoothed ground, and from cell to cell where it is flat."""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled

__all__ = ["cells_way", "fall_lines", "garden_overflow", "garden_overflows"]

LEAST_SLOPE = 0.002
"""Flatter ground has no fall line that could be trusted. [m/m]"""

HALF_LENGTH_M = 1.5
"""Half the length of a small garden: its overflow may be let out in the middle of its lower edge or to either side."""

UNKNOWN = 0
STOPPED = -1
RUNNING = -2


@compiled
def _step(
    x: float, y: float, left: bool, step: float, ends: Any, east: Any, rise_north: Any, p: Any
) -> tuple[int, float, float, bool]:
    """One step down a fall line: what ends it there, else ``RUNNING``; where it comes to; whether it left setbacks."""
    row = math.floor((p.north - y) / p.cell_y)
    column = math.floor((x - p.west) / p.cell_x)
    if row < 0 or column < 0 or row >= east.shape[0] or column >= east.shape[1]:
        return STOPPED, x, y, left
    end = ends[row, column]
    if end < 0:
        return STOPPED, x, y, left
    if end > 0 and left:
        return int(end), x, y, left
    gx = east[row, column]
    gy = rise_north[row, column]
    size = math.sqrt(gx * gx + gy * gy)
    if not size >= LEAST_SLOPE:
        return UNKNOWN, x, y, left
    # a garden may touch a setback that it lies beside
    return RUNNING, x - step * gx / size, y - step * gy / size, left or end == 0


@compiled
def fall_lines(
    x: float, y: float, other_x: float, other_y: float, ends: Any, east: Any, rise_north: Any, p: Any
) -> tuple[int, int]:
    """What the fall lines from two places meet within reach: a building's number, 0 when one peters out, else -1.

    Two at a time, as a processor waits for each step of one.

    Parameters
    ----------
    x, y, other_x, other_y
        The places.
    ends
        Label of each elevation cell: -1 ends water's way, above 0 the setback of that building, 0 neither.
    east, rise_north
        Gradient of the smoothed ground. [m/m]
    p
        ``west, north, cell_x, cell_y`` of the cells; ``overflow_reach``, the longest line that matters. [m]
    """
    step = 0.5 * min(p.cell_x, p.cell_y)
    left = False
    other_left = False
    met = RUNNING
    other_met = RUNNING
    steps = int(p.overflow_reach / step)
    while steps > 0 and (met == RUNNING or other_met == RUNNING):
        steps -= 1
        if met == RUNNING:
            met, x, y, left = _step(x, y, left, step, ends, east, rise_north, p)
        if other_met == RUNNING:
            other_met, other_x, other_y, other_left = _step(
                other_x, other_y, other_left, step, ends, east, rise_north, p
            )
    return STOPPED if met == RUNNING else met, STOPPED if other_met == RUNNING else other_met


@compiled
def cells_way(row: int, column: int, ends: Any, direction: Any, p: Any) -> int:
    """What water meets within reach that runs from cell to cell: a building's number, else -1.

    ``direction``: D8 codes; the others as in ``fall_lines``.
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
    ``fall_lines`` and ``cells_way``.
    """
    row = math.floor((p.north - y) / p.cell_y)
    column = math.floor((x - p.west) / p.cell_x)
    gx = east[row, column]
    gy = rise_north[row, column]
    size = math.sqrt(gx * gx + gy * gy)
    if not size >= LEAST_SLOPE:
        return cells_way(row, column, ends, direction, p)
    aside_x = HALF_LENGTH_M * gy / size
    aside_y = HALF_LENGTH_M * gx / size
    met, right = fall_lines(x, y, x - aside_x, y + aside_y, ends, east, rise_north, p)
    building = met if met > 0 else max(right, 0)
    count = (1 if met > 0 else 0) + (1 if right > 0 else 0)
    if count == 1:  # two ways settle it
        end, _ = fall_lines(x + aside_x, y - aside_y, p.west - p.cell_x, y, ends, east, rise_north, p)
        count += 1 if end > 0 else 0
    if count >= 2:
        return building
    return cells_way(row, column, ends, direction, p) if met == UNKNOWN else STOPPED


@compiled
def garden_overflows(x: Any, y: Any, ends: Any, east: Any, rise_north: Any, direction: Any, p: Any, out: Any) -> None:
    """``garden_overflow`` of many places; written in place."""
    for i in range(x.shape[0]):
        out[i] = garden_overflow(x[i], y[i], ends, east, rise_north, direction, p)
