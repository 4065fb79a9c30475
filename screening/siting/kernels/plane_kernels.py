"""Height of the fitted plane at each cell: ground without its noise, roofs left out."""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled

__all__ = ["plane_heights"]


@compiled
def plane_heights(
    heights: Any, ground: Any, east: Any, north: Any, wanted: Any, half_rows: int, half_columns: int, cell_x: float,
    cell_y: float, out: Any,
) -> None:  # fmt: skip
    """Height at the cell's centre of the plane through the mean of its window, NaN where the window is empty.

    Parameters
    ----------
    heights, ground
        Heights [m], and True where a cell counts (no roof, no missing height).
    east, north
        Gradient of the plane. [m/m]
    wanted
        True where the height is needed; NaN elsewhere.
    half_rows, half_columns
        Half the window beyond the cell itself.
    out
        Written in place, float64.
    """
    rows, columns = heights.shape
    for row in range(rows):
        for column in range(columns):
            out[row, column] = math.nan
            if not wanted[row, column]:
                continue
            count = 0
            total = 0.0
            right = 0.0
            up = 0.0
            for r in range(max(row - half_rows, 0), min(row + half_rows + 1, rows)):
                for c in range(max(column - half_columns, 0), min(column + half_columns + 1, columns)):
                    if ground[r, c]:
                        count += 1
                        total += heights[r, c]
                        right += c - column
                        up += row - r
            if count > 0:
                tilt = east[row, column] * right * cell_x + north[row, column] * up * cell_y
                out[row, column] = (total - tilt) / count
