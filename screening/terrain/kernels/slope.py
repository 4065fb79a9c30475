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

    ``row_sum`` and ``row_lean`` are scratch of shape (2 half_r + 1, columns): each row's sum of heights less the
    middle one, and sum of distance times height, over the window's width. Every cell's sums run in the same order
    wherever the rows start.
    """
    rows, columns = z.shape
    lean_x = half_c * (half_c + 1) * (2 * half_c + 1) / 3.0 * (2 * half_r + 1)
    lean_y = half_r * (half_r + 1) * (2 * half_r + 1) / 3.0 * (2 * half_c + 1)
    deep = 2 * half_r + 1
    made = max(first - half_r, 0)
    for r in range(first, last):
        while made <= min(r + half_r, rows - 1):
            total, lean = row_sum[made % deep], row_lean[made % deep]
            for c in range(half_c, columns - half_c):
                s, t = np.float64(z[made, c]), 0.0
                for k in range(1, half_c + 1):
                    a, b = np.float64(z[made, c - k]), np.float64(z[made, c + k])
                    s += a + b
                    t += k * (b - a)
                total[c] = s
                lean[c] = t
            made += 1
        whole = r >= half_r and r < rows - half_r
        for c in range(columns):
            sx = np.nan
            sy = 0.0
            if whole and c >= half_c and c < columns - half_c:
                sx = row_lean[r % deep, c]
                for k in range(1, half_r + 1):
                    sx += row_lean[(r - k) % deep, c] + row_lean[(r + k) % deep, c]
                    sy += k * (row_sum[(r - k) % deep, c] - row_sum[(r + k) % deep, c])
                sx += 0.0 * (sy + row_sum[r % deep, c])  # NaN anywhere in the window shows
            if np.isnan(sx):
                east[r, c], north[r, c] = plane_cell(z, r, c, half_r, half_c, dx, dy)
            else:
                east[r, c] = sx / (lean_x * dx)
                north[r, c] = sy / (lean_y * dy)
