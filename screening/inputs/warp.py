"""Warp a raster bilinearly to a metric, north-up grid."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import rasterio.crs
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS, Transformer
from rasterio.warp import Resampling, reproject

__all__ = ["covering_grid", "pasted", "target_cell_m", "warp_heights"]


def _edge_points(shape: tuple[int, int], transform: Affine) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points along the outline of a raster, in its own CRS."""
    rows, columns = shape
    along = np.linspace(0.0, 1.0, 101)
    zero, one = np.zeros_like(along), np.ones_like(along)
    u = np.concatenate([along, one, along, zero]) * columns
    v = np.concatenate([zero, along, one, along]) * rows
    x, y = transform * (u, v)
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
    x, y = to_target.transform(*(transform * (u, v)))
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
    warped = np.full(shape, np.nan, dtype=values.dtype)
    reproject(
        np.ascontiguousarray(values),
        warped,
        src_transform=transform,
        src_crs=rasterio.crs.CRS.from_wkt(source.to_wkt()),
        src_nodata=np.nan,
        dst_transform=onto,
        dst_crs=rasterio.crs.CRS.from_wkt(target.to_wkt()),
        dst_nodata=np.nan,
        resampling=Resampling.bilinear,
        tolerance=0.0,
        num_threads=1,
    )
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
    corners = np.array([~onto * (transform * corner) for corner in ((0, 0), (columns, rows))])
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
