"""The fall line from a place: where water goes over smoothed ground, in any direction rather than one of eight."""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled

__all__ = ["fall_line", "garden_overflow", "garden_overflows"]

LENGTH_M = 80.0
"""Longest line followed: the ground that a block holds around its lots."""
LEAST_SLOPE = 0.002
"""Flatter ground has no fall line that could be trusted. [m/m]"""

HALF_LENGTH_M = 1.5
"""Half the length of a small garden: water may leave it anywhere along its lower edge."""

UNKNOWN = 0
STOPPED = -1


@compiled
def fall_line(x: float, y: float, ends: Any, east: Any, rise_north: Any, p: Any) -> int:
    """What the fall line from a place meets: -1 what ends water's way, a building's number, 0 when it peters out.

    Parameters
    ----------
    x, y
        The place.
    ends
        Label of each elevation cell: -1 ends water's way, above 0 the setback of that building, 0 neither.
    east, rise_north
        Gradient of the smoothed ground. [m/m]
    p
        ``west, north, cell_x, cell_y`` of the cells.
    """
    step = 0.5 * min(p.cell_x, p.cell_y)
    rows, columns = east.shape
    left = False
    for _ in range(int(LENGTH_M / step)):
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
    return UNKNOWN


@compiled
def garden_overflow(x: float, y: float, ends: Any, east: Any, rise_north: Any, p: Any) -> int:
    """What the overflow of a garden meets, from its middle and from either side: a building before anything else.

    Parameters are those of ``fall_line``; 0 where nothing is known.
    """
    row = math.floor((p.north - y) / p.cell_y)
    column = math.floor((x - p.west) / p.cell_x)
    gx = east[row, column]
    gy = rise_north[row, column]
    size = math.sqrt(gx * gx + gy * gy)
    if not size >= LEAST_SLOPE:
        return UNKNOWN
    met = UNKNOWN
    for side in range(3):
        aside = (side + 1) % 3 - 1  # the middle first
        end = fall_line(
            x - aside * HALF_LENGTH_M * gy / size, y + aside * HALF_LENGTH_M * gx / size, ends, east, rise_north, p
        )
        if end > 0:
            return end
        if side == 0:
            met = end
    return met


@compiled
def garden_overflows(x: Any, y: Any, ends: Any, east: Any, rise_north: Any, p: Any, out: Any) -> None:
    """``garden_overflow`` of many places; written in place."""
    for i in range(x.shape[0]):
        out[i] = garden_overflow(x[i], y[i], ends, east, rise_north, p)
