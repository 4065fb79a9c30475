"""Height of the fitted plane at each cell: ground without its noise, roofs left out."""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled

__all__ = ["plane_heights"]


@compiled
def _add_up(
    heights: Any, ground: Any, aside: float, above: float, count: Any, total: Any, right: Any, up: Any
) -> None:  # fmt: skip
    """Add the cells of a row that count to the sums of cells so far aside of them."""
    for i in range(heights.shape[0]):
        counts = 1.0 if ground[i] else 0.0
        count[i] += counts
        total[i] += heights[i] if ground[i] else 0.0
        right[i] += aside * counts
        up[i] += above * counts


@compiled
def plane_heights(
    heights: Any, ground: Any, east: Any, north: Any, wanted: Any, half_rows: int, half_columns: int, cell_x: float,
    cell_y: float, work: Any, out: Any,
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
    work
        Work space, float64, shape (4, columns).
    out
        Written in place, float64.
    """
    rows, columns = heights.shape
    for row in range(rows):
        some = False
        for column in range(columns):
            some |= wanted[row, column]
        if not some:
            out[row] = math.nan
            continue
        work[:] = 0.0
        # a whole row at a time, each cell's window in the same order: a processor adds up eight columns at once
        for r in range(max(row - half_rows, 0), min(row + half_rows + 1, rows)):
            for aside in range(-half_columns, half_columns + 1):
                first = max(-aside, 0)
                last = max(min(columns - aside, columns), first)
                _add_up(
                    heights[r, first + aside : last + aside], ground[r, first + aside : last + aside], float(aside),
                    float(row - r), work[0, first:last], work[1, first:last], work[2, first:last], work[3, first:last],
                )  # fmt: skip
        for column in range(columns):
            count = work[0, column]
            height = math.nan
            if wanted[row, column] and count > 0.0:
                tilt = east[row, column] * work[2, column] * cell_x + north[row, column] * work[3, column] * cell_y
                height = (work[1, column] - tilt) / count
            out[row, column] = height
