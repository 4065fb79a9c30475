"""Warp a raster bilinearly to a metric, north-up grid."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS, Transformer

__all__ = ["bilinear", "covering_grid", "pasted", "target_cell_m", "warp_heights"]


_CELLS_AT_ONCE: Final = 1_000_000
_NO_SHARE: Final = 1e-9
"""Weight below which a cell has no share in a value."""


def _edge_points(shape: tuple[int, int], transform: Affine) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points along the outline of a raster, in its own CRS."""
    rows, columns = shape
    along = np.linspace(0.0, 1.0, 101)
    zero, one = np.zeros_like(along), np.ones_like(along)
    u = np.concatenate([along, one, along, zero]) * columns
    v = np.concatenate([zero, along, one, along]) * rows
    x, y = transform @ (u, v)
    return np.asarray(x), np.asarray(y)


def target_cell_m(shape: tuple[int, int], transform: Affine, source: CRS, target: CRS) -> float:
    """Side of the square cells to warp to [m].

    The geometric mean of the true sides of the cell at the centre, rounded to 0.01 m.

    Parameters
    ----------
    shape
        Rows and columns.
    transform
        Of the raster, in units of ``source``.
    source, target
        CRS of the raster; a metric CRS of scale 1 there.
    """
    rows, columns = shape
    to_target = Transformer.from_crs(source, target, always_xy=True)
    u = columns / 2 + np.array([-0.5, 0.5, 0.0, 0.0])
    v = rows / 2 + np.array([0.0, 0.0, -0.5, 0.5])
    x, y = to_target.transform(*(transform @ (u, v)))
    side_x, side_y = math.hypot(x[1] - x[0], y[1] - y[0]), math.hypot(x[3] - x[2], y[3] - y[2])
    return max(round(math.sqrt(side_x * side_y), 2), 0.01)


def covering_grid(
    shape: tuple[int, int], transform: Affine, source: CRS, target: CRS, cell_m: float
) -> tuple[tuple[int, int], Affine]:
    """The north-up grid in ``target`` that covers a raster, its corners on multiples of the cell.

    Parameters
    ----------
    shape, transform, source
        The raster: rows and columns, transform, CRS.
    target
        A metric CRS.
    cell_m
        Side of the new cells [m].

    Returns
    -------
    tuple
        Rows and columns; transform [m].
    """
    to_target = Transformer.from_crs(source, target, always_xy=True)
    x, y = to_target.transform(*_edge_points(shape, transform))
    west, south = math.floor(np.min(x) / cell_m), math.floor(np.min(y) / cell_m)
    east, north = math.ceil(np.max(x) / cell_m), math.ceil(np.max(y) / cell_m)
    return (north - south, east - west), Affine(cell_m, 0.0, west * cell_m, 0.0, -cell_m, north * cell_m)


def bilinear(values: NDArray[Any], column: NDArray[np.float64], row: NDArray[np.float64]) -> NDArray[np.float64]:
    """Values between the centres of four cells.

    Parameters
    ----------
    values
        Shape (rows, columns), NaN where missing.
    column, row
        Fractional places; a cell's centre lies at whole numbers plus one half. Any one shape.

    Returns
    -------
    numpy.ndarray
        float64; NaN where a cell that has a share in the value is missing or off the raster. Exact on planes.
    """
    rows, columns = values.shape
    left, top = np.floor(column - 0.5), np.floor(row - 0.5)
    u, v = column - 0.5 - left, row - 0.5 - top
    out = np.zeros(np.broadcast(column, row).shape)
    for down, right, weight in (
        (0, 0, (1 - u) * (1 - v)),
        (0, 1, u * (1 - v)),
        (1, 0, (1 - u) * v),
        (1, 1, u * v),
    ):
        at_row, at_column = top + down, left + right
        inside = (at_row >= 0) & (at_row < rows) & (at_column >= 0) & (at_column < columns)
        cells = values[np.where(inside, at_row, 0).astype(np.intp), np.where(inside, at_column, 0).astype(np.intp)]
        share = weight > _NO_SHARE
        out += np.where(share, np.where(inside, cells, np.nan) * weight, 0.0)
    return out


def warp_heights(
    values: NDArray[Any],
    transform: Affine,
    source: CRS,
    *,
    shape: tuple[int, int],
    onto: Affine,
    target: CRS,
) -> NDArray[Any]:
    """Warp heights bilinearly onto a grid.

    Parameters
    ----------
    values
        Heights, NaN where missing.
    transform
        From (column, row) to units of ``source``; may be rotated.
    source
        CRS of the raster.
    shape, onto, target
        The new grid: rows and columns, transform, CRS.

    Returns
    -------
    numpy.ndarray
        The new heights, NaN where missing.
    """
    to_source = Transformer.from_crs(target, source, always_xy=True)
    back = ~transform
    warped = np.empty(shape, dtype=values.dtype)
    step = max(_CELLS_AT_ONCE // max(shape[1], 1), 1)
    for first in range(0, shape[0], step):
        rows = np.arange(first, min(first + step, shape[0]))
        centres = np.meshgrid(np.arange(shape[1]) + 0.5, rows + 0.5)
        x, y = to_source.transform(*(onto @ (centres[0], centres[1])))
        column, row = back @ (x, y)
        warped[rows] = bilinear(values, np.asarray(column), np.asarray(row))
    return warped


def pasted(
    values: NDArray[Any], transform: Affine, *, shape: tuple[int, int], onto: Affine, tolerance: float = 0.01
) -> NDArray[Any] | None:
    """Heights copied cell by cell onto a grid of the same lattice.

    Parameters
    ----------
    values, transform
        Heights and their transform, in the grid's CRS.
    shape, onto
        The grid: rows and columns, transform.
    tolerance
        How far the lattices may lie apart [cells].

    Returns
    -------
    numpy.ndarray or None
        Heights on the grid, NaN where the raster does not reach; None when the lattices differ.
    """
    rows, columns = values.shape
    corners = np.array([~onto @ (transform @ corner) for corner in ((0, 0), (columns, rows))])
    whole = np.round(corners).astype(int)
    if np.abs(corners - whole).max() > tolerance or (whole[1] - whole[0] != (columns, rows)).any():
        return None
    (left, top), (right, bottom) = whole
    out = np.full(shape, np.nan, dtype=values.dtype)
    rows_in = slice(max(top, 0), max(min(bottom, shape[0]), 0))
    columns_in = slice(max(left, 0), max(min(right, shape[1]), 0))
    cut = values[
        rows_in.start - top : max(rows_in.stop - top, 0), columns_in.start - left : max(columns_in.stop - left, 0)
    ]
    if cut.size:
        out[rows_in, columns_in] = cut
    return out
