"""Cells that water from beyond the data may run through: what drains through them is not known."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from screening.grid import NODATA, VALID, WALL, Grid
from screening.terrain.codes import COLUMN_STEP, NO_FLOW, ROW_STEP
from screening.terrain.fate import flow_accumulation

__all__ = ["upslope_unknown"]


def upslope_unknown(grid: Grid, direction: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Find cells whose upslope area may reach past the data.

    Routing lets water leave at the raster's rim and beside nodata, whichever way the ground falls there. Where such a
    cell lies as high as a neighbour or higher, water may come in over it and run on from that neighbour.

    Parameters
    ----------
    grid
        What was routed.
    direction
        D8 codes of it.

    Returns
    -------
    numpy.ndarray
        bool, the grid's shape: True at nodata, at cells on the rim or beside nodata, and at every cell that water runs
        to from a neighbour of one of these that lies no higher.
    """
    missing = grid.state == NODATA
    around = np.pad(missing, 1, constant_values=True)
    heights = np.pad(np.where(missing | (grid.state == WALL), -np.inf, grid.values), 1, constant_values=-np.inf)
    shape, rim = grid.shape, np.zeros(grid.shape, dtype=bool)
    for row, column in zip(ROW_STEP.tolist(), COLUMN_STEP.tolist(), strict=True):
        rim |= _shifted(around, row, column, shape)
    rim &= grid.state != NODATA
    levels = np.where(np.pad(rim, 1), heights, -np.inf)
    begins = rim.copy()
    for row, column in zip(ROW_STEP.tolist(), COLUMN_STEP.tolist(), strict=True):
        begins |= (grid.state == VALID) & (_shifted(levels, row, column, shape) >= grid.values)
    begins &= direction != NO_FLOW
    reached = flow_accumulation(direction, begins.astype(np.int64)) > 0
    return np.asarray(reached | missing)


def _shifted(padded: NDArray[np.generic], row: int, column: int, shape: tuple[int, int]) -> NDArray[np.generic]:
    """Each cell's neighbour, so many rows south and columns east, of an array padded by one cell."""
    return padded[1 + row : 1 + row + shape[0], 1 + column : 1 + column + shape[1]]
