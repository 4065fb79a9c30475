"""Sums over the cells of each lot."""

from __future__ import annotations

from typing import Any

import numpy as np

from screening.jit import compiled

__all__ = ["sum_cells", "sum_open"]


@compiled
def sum_cells(lot: Any, known: Any, ground: Any, dz_dx: Any, dz_dy: Any, count: Any, total: Any) -> None:
    """Count the cells of each lot and add up its slopes off the roofs.

    Parameters
    ----------
    lot
        Cells, 2-D: position int32 (-1 none).
    known, ground
        Cells with a height; those of them off the roofs. Bool, 2-D.
    dz_dx, dz_dy
        Cells, 2-D, NaN unknown: slopes. [m/m]
    count
        Cells, and those with a height, int64, shape (lots, 2).
    total
        Sums of dz_dx, dz_dy, steepness, and how many went in, float64, shape (lots, 4).
    """
    rows, columns = lot.shape
    for row in range(rows):
        for column in range(columns):
            k = lot[row, column]
            if k < 0:
                continue
            count[k, 0] += 1
            if not known[row, column]:
                continue
            count[k, 1] += 1
            gx, gy = dz_dx[row, column], dz_dy[row, column]
            if not ground[row, column] or not np.isfinite(gx) or not np.isfinite(gy):
                continue
            total[k, 0] += gx
            total[k, 1] += gy
            total[k, 2] += np.sqrt(gx * gx + gy * gy)
            total[k, 3] += 1.0


@compiled
def sum_open(
    lot: Any, bits: Any, closed: int, fold: int, dz_dx: Any, dz_dy: Any, paved: Any, steepness: Any, total: Any
) -> None:
    """Count each lot's open mask cells, add up their slope, and count its paved ones.

    Parameters
    ----------
    lot, bits, paved
        Mask cells, 2-D: int32 (-1 none), uint32, uint32.
    closed
        Bits that forbid digging.
    fold
        Mask cells to an elevation cell, each way.
    dz_dx, dz_dy
        Elevation cells, 2-D, NaN unknown: slopes. [m/m]
    steepness
        Work space, float64, as long as the elevation has columns.
    total
        Open cells, sum of their steepness, those with one, paved cells; float64, shape (lots, 4).
    """
    rows, columns = lot.shape
    for row in range(rows):
        if row % fold == 0:
            for column in range(steepness.shape[0]):
                steepness[column] = -1.0  # not asked for yet
        for column in range(columns):
            k = lot[row, column]
            if k < 0:
                continue
            if paved[row, column]:
                total[k, 3] += 1.0
            if bits[row, column] & closed:
                continue
            total[k, 0] += 1.0
            at = column // fold
            if steepness[at] < 0.0:
                gx, gy = dz_dx[row // fold, at], dz_dy[row // fold, at]
                steepness[at] = np.sqrt(gx * gx + gy * gy)
            if np.isfinite(steepness[at]):
                total[k, 1] += steepness[at]
                total[k, 2] += 1.0
