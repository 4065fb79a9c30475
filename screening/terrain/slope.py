"""Slope and aspect: at the cell by Horn's window, and at a stated scale by a least-squares plane.

Both use the surface without walls: a wall cell counts with its own height.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.grid import Grid
from screening.terrain.kernels.slope import horn_gradient, horn_slope, plane_gradient
from screening.terrain.threads import in_bands

__all__ = [
    "aspect_deg",
    "downslope_deg",
    "gradient_at_scale",
    "half_window_cells",
    "slope_at_scale_pct",
    "slope_pct",
    "steepness_pct",
]


def slope_pct(grid: Grid, *, threads: int = 2) -> NDArray[Any]:
    """Slope at the cell by Horn's (1981) third-order finite difference.

    Parameters
    ----------
    grid
        Heights; their height factor is applied.
    threads
        How many threads share the rows.

    Returns
    -------
    ndarray
        Rise over run [%], the dtype of the heights; NaN where one of the nine heights is missing, so also on the
        raster's rim.

    References
    ----------
    Horn, B. K. P. (1981). Hill shading and the reflectance map. Proceedings of the IEEE 69(1), 14-47.
    """
    slope = np.empty(grid.shape, grid.values.dtype)
    _blank_rim(slope)
    to_x = 100.0 * grid.height_factor / (8.0 * grid.cell_x_m)
    to_y = 100.0 * grid.height_factor / (8.0 * grid.cell_y_m)
    in_bands(lambda first, last: horn_slope(grid.values, first, last, to_x, to_y, slope), grid.shape[0], threads)
    return slope


def aspect_deg(grid: Grid) -> NDArray[np.float64]:
    """Direction that the ground faces (downslope) by Horn's window.

    Returns
    -------
    ndarray
        Degrees clockwise from north, 0 up to 360; NaN where flat, where one of the nine heights is missing, and on
        the raster's rim. [deg]
    """
    east, north = np.full(grid.shape, np.nan), np.full(grid.shape, np.nan)
    horn_gradient(grid.values, 1.0 / (8.0 * grid.cell_x_m), 1.0 / (8.0 * grid.cell_y_m), east, north)
    return downslope_deg(east, north)


def downslope_deg(dz_dx: NDArray[np.float64], dz_dy: NDArray[np.float64]) -> NDArray[np.float64]:
    """Direction of steepest descent of a gradient, degrees clockwise from north; NaN where flat."""
    degrees = np.degrees(np.arctan2(-dz_dx, -dz_dy)) % 360.0
    degrees[degrees >= 360.0] = 0.0
    return np.where((dz_dx == 0) & (dz_dy == 0), np.nan, degrees)


def half_window_cells(scale_m: float, cell_m: float) -> int:
    """Cells on each side of the middle one in a window about ``scale_m`` wide; at least 1."""
    if not scale_m > 0:
        raise ValueError(f"scale_m must be positive, got {scale_m}")
    return max(1, int((scale_m / cell_m - 1.0) / 2.0 + 0.5))


def gradient_at_scale(
    grid: Grid, scale_m: float = 5.0, *, threads: int = 2
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Rise to the east and to the north of the least-squares plane around every cell.

    The window is an odd number of cells on each axis, as near ``scale_m`` as can be and at least 3. Where heights
    are missing or the raster ends, the plane is fitted to those that are there.

    Parameters
    ----------
    grid
        Heights; their height factor is applied.
    scale_m
        Width of the window. [m]
    threads
        How many threads share the rows.

    Returns
    -------
    dz_dx, dz_dy
        Rise per distance to the east and to the north; NaN where the cell has no height or its window's heights fix
        no plane. [m/m]
    """
    half_r = half_window_cells(scale_m, grid.cell_y_m)
    half_c = half_window_cells(scale_m, grid.cell_x_m)
    east, north = np.empty(grid.shape), np.empty(grid.shape)
    dx, dy = grid.cell_x_m / grid.height_factor, grid.cell_y_m / grid.height_factor

    def band(first: int, last: int) -> None:
        sums = np.empty((2, 2 * half_r + 1, grid.shape[1]))
        plane_gradient(grid.values, half_r, half_c, dx, dy, first, last, sums[0], sums[1], east, north)

    in_bands(band, grid.shape[0], threads)
    return east, north


def slope_at_scale_pct(grid: Grid, scale_m: float = 5.0, *, threads: int = 2) -> NDArray[np.float64]:
    """Slope, in percent, of the least-squares plane around every cell; see `gradient_at_scale`."""
    return steepness_pct(*gradient_at_scale(grid, scale_m, threads=threads))


def steepness_pct(dz_dx: NDArray[np.float64], dz_dy: NDArray[np.float64]) -> NDArray[np.float64]:
    """Size of a gradient [%]; slopes are far from where squares overflow, and a root is fast."""
    steepness = dz_dx * dz_dx
    steepness += dz_dy * dz_dy
    np.sqrt(steepness, out=steepness)
    steepness *= 100.0
    return steepness


def _blank_rim(values: NDArray[Any]) -> None:
    values[0] = values[-1] = np.nan
    values[:, 0] = values[:, -1] = np.nan
