"""Gradients of heights: Horn's window, and the least-squares plane over a larger one."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.jit import compiled

Array = NDArray[Any]


@compiled
def horn_row(north: Array, here: Array, south: Array, to_x: float, to_y: float, slope: Array) -> None:
    """Write rise over run of the inner cells of a row; NaN neighbours give NaN."""
    for c in range(1, here.size - 1):
        nw, n, ne = np.float64(north[c - 1]), np.float64(north[c]), np.float64(north[c + 1])
        w, e = np.float64(here[c - 1]), np.float64(here[c + 1])
        sw, s, se = np.float64(south[c - 1]), np.float64(south[c]), np.float64(south[c + 1])
        dx = ((ne - nw) + (se - sw) + 2.0 * (e - w)) * to_x
        dy = ((nw - sw) + (ne - se) + 2.0 * (n - s)) * to_y
        slope[c] = np.sqrt(dx * dx + dy * dy) + np.float64(here[c] - here[c])


@compiled
def horn_slope(z: Array, first: int, last: int, to_x: float, to_y: float, slope: Array) -> None:
    """Write the slope of rows first..last; the raster's rim must come filled with NaN."""
    for r in range(max(first, 1), min(last, z.shape[0] - 1)):
        horn_row(z[r - 1], z[r], z[r + 1], to_x, to_y, slope[r])


@compiled
def horn_gradient(z: Array, to_x: float, to_y: float, east: Array, north: Array) -> None:
    """Write the rise to the east and to the north of inner cells."""
    for r in range(1, z.shape[0] - 1):
        for c in range(1, z.shape[1] - 1):
            nw, n, ne = np.float64(z[r - 1, c - 1]), np.float64(z[r - 1, c]), np.float64(z[r - 1, c + 1])
            w, e = np.float64(z[r, c - 1]), np.float64(z[r, c + 1])
            sw, s, se = np.float64(z[r + 1, c - 1]), np.float64(z[r + 1, c]), np.float64(z[r + 1, c + 1])
            here = np.float64(z[r, c] - z[r, c])
            east[r, c] = ((ne - nw) + (se - sw) + 2.0 * (e - w)) * to_x + here
            north[r, c] = ((nw - sw) + (ne - se) + 2.0 * (n - s)) * to_y + here


@compiled
def plane_cell(z: Array, r: int, c: int, half_r: int, half_c: int, dx: float, dy: float) -> tuple[float, float]:
    """Fit a plane to the heights that are there around one cell; NaN where they fix none."""
    n, sx, sy, sxx, sxy, syy, sz, sxz, syz = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    middle = np.float64(z[r, c])
    for i in range(max(r - half_r, 0), min(r + half_r + 1, z.shape[0])):
        for j in range(max(c - half_c, 0), min(c + half_c + 1, z.shape[1])):
            h = np.float64(z[i, j]) - middle
            if not np.isnan(h):
                x, y = np.float64(j - c), np.float64(r - i)
                n += 1.0
                sx += x
                sy += y
                sxx += x * x
                sxy += x * y
                syy += y * y
                sz += h
                sxz += x * h
                syz += y * h
    if np.isnan(middle) or n < 3.0:
        return np.nan, np.nan
    # whole numbers up to here, so that a singular fit is exactly zero
    xx, xy, yy = n * sxx - sx * sx, n * sxy - sx * sy, n * syy - sy * sy
    xz, yz = n * sxz - sx * sz, n * syz - sy * sz
    det = xx * yy - xy * xy
    if det <= 0.0:
        return np.nan, np.nan
    return (xz * yy - yz * xy) / det / dx, (yz * xx - xz * xy) / det / dy


@compiled
def add_widths(heights: Array, half: int, total: Array, lean: Array) -> None:
    """Write the sum of heights, and of distance times height, over each window's width along a row."""
    count = heights.shape[0] - 2 * half
    middle = heights[half:]
    for c in range(count):
        total[c], lean[c] = np.float64(middle[c]), 0.0
    for k in range(1, half + 1):
        west, east = heights[half - k :], heights[half + k :]
        for c in range(count):
            a, b = np.float64(west[c]), np.float64(east[c])
            total[c] += a + b
            lean[c] += k * (b - a)


@compiled
def plane_gradient(
    z: Array,
    half_r: int,
    half_c: int,
    dx: float,
    dy: float,
    first: int,
    last: int,
    row_sum: Array,
    row_lean: Array,
    east: Array,
    north: Array,
) -> None:
    """Write the rise to the east and north of the plane around every cell of rows first..last.

    ``row_sum`` and ``row_lean`` are scratch of shape (2 half_r + 1, columns): each row's sum of heights, and of
    distance times height, over the window's width, for windows that lie within the row. Every cell's sums run in the
    same order wherever the rows start. Loops run along rows without a branch, so that the processor takes several
    cells at a time.
    """
    rows, columns = z.shape
    to_x = half_c * (half_c + 1) * (2 * half_c + 1) / 3.0 * (2 * half_r + 1) * dx
    to_y = half_r * (half_r + 1) * (2 * half_r + 1) / 3.0 * (2 * half_c + 1) * dy
    deep = 2 * half_r + 1
    inner = max(columns - 2 * half_c, 0)
    made = max(first - half_r, 0)
    for r in range(first, last):
        while made <= min(r + half_r, rows - 1):
            if inner > 0:
                add_widths(z[made], half_c, row_sum[made % deep], row_lean[made % deep])
            made += 1
        start, end = columns, columns
        if r >= half_r and r < rows - half_r and inner > 0:
            start, end = half_c, half_c + inner
            x, y = east[r, half_c:], north[r, half_c:]
            total, lean = row_sum[r % deep], row_lean[r % deep]
            for c in range(inner):
                x[c], y[c] = lean[c], 0.0
            for k in range(1, half_r + 1):
                above, below = row_sum[(r - k) % deep], row_sum[(r + k) % deep]
                lean_above, lean_below = row_lean[(r - k) % deep], row_lean[(r + k) % deep]
                for c in range(inner):
                    x[c] += lean_above[c] + lean_below[c]
                    y[c] += k * (above[c] - below[c])
            for c in range(inner):
                x[c] = (x[c] + 0.0 * (y[c] + total[c])) / to_x  # NaN anywhere in the window shows
                y[c] /= to_y
        for c in range(columns):
            if c < start or c >= end or np.isnan(east[r, c]):
                east[r, c], north[r, c] = plane_cell(z, r, c, half_r, half_c, dx, dy)
