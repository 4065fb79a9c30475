"""From each downspout: the ground read off the wall, and the lawn its water crosses."""

from __future__ import annotations

from typing import Any

import numpy as np

from screening.jit import compiled

__all__ = ["cross_lawn", "plane_heights"]


@compiled
def plane_heights(
    x: Any, y: Any, reach: float, cell_x: float, cell_y: float, usable: Any, heights: Any, out: Any
) -> None:
    """Carry a plane through the usable cells around each point back to the point.

    Parameters
    ----------
    x, y
        Points, metres from the window's north-west corner, y south.
    reach
        Cells whose centre is no farther count. [m]
    cell_x, cell_y
        Cell size. [m]
    usable
        Cells that count, uint8, 2-D.
    heights
        Cells, float64, 2-D. [m]
    out
        Height at each point, NaN where fewer than three cells in a triangle count. [m]
    """
    rows, columns = heights.shape
    for i in range(x.size):
        out[i] = np.nan
        n, sx, sy, sz, sxx, sxy, syy, sxz, syz = 0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
        base = np.nan
        top = max(0, int(np.ceil((y[i] - reach) / cell_y - 0.5)))
        bottom = min(rows - 1, int(np.floor((y[i] + reach) / cell_y - 0.5)))
        left = max(0, int(np.ceil((x[i] - reach) / cell_x - 0.5)))
        right = min(columns - 1, int(np.floor((x[i] + reach) / cell_x - 0.5)))
        for row in range(top, bottom + 1):
            for column in range(left, right + 1):
                if usable[row, column] == 0 or not np.isfinite(heights[row, column]):
                    continue
                u = (column + 0.5) * cell_x - x[i]
                v = (row + 0.5) * cell_y - y[i]
                if u * u + v * v > reach * reach:
                    continue
                if n == 0:
                    base = heights[row, column]
                z = heights[row, column] - base
                n += 1
                sx += u
                sy += v
                sz += z
                sxx += u * u
                sxy += u * v
                syy += v * v
                sxz += u * z
                syz += v * z
        if n < 3:
            continue
        mx, my, mz = sx / n, sy / n, sz / n
        cxx, cxy, cyy = sxx / n - mx * mx, sxy / n - mx * my, syy / n - my * my
        cxz, cyz = sxz / n - mx * mz, syz / n - my * mz
        det = cxx * cyy - cxy * cxy
        # cells nearly in a line say nothing about the slope across it
        if det <= 0.01 * (cell_x * cell_y) ** 2:
            continue
        gx = (cxz * cyy - cyz * cxy) / det
        gy = (cyz * cxx - cxz * cxy) / det
        out[i] = base + mz - gx * mx - gy * my


@compiled
def cross_lawn(
    row: Any, column: Any, direction: Any, surface: Any, cell_x: float, cell_y: float, most: float, lawn: Any, end: Any
) -> None:
    """Follow water from each cell and add up the lawn that it crosses.

    Parameters
    ----------
    row, column
        Cells, int64; row -1 for none.
    direction
        D8 codes, uint8, 2-D.
    surface
        0 lawn, 1 paved, 2 where the water is in the drain; uint8, 2-D.
    cell_x, cell_y
        Cell size. [m]
    most
        Give up after so much lawn. [m]
    lawn
        Lawn crossed, float64. [m]
    end
        2 in the drain, 1 lost on the lawn, 0 not known; int64.
    """
    rows, columns = direction.shape
    for i in range(row.size):
        lawn[i], end[i] = 0.0, 0
        r, c = row[i], column[i]
        steps = 0
        while r >= 0 and steps <= rows * columns:
            if surface[r, c] == 2:
                end[i] = 2
                break
            if lawn[i] > most:
                end[i] = 1
                break
            code = direction[r, c]
            if code == 0 or code == 255:
                break
            dr, dc = 0, 0
            if code == 1 or code == 2 or code == 128:
                dc = 1
            elif code == 8 or code == 16 or code == 32:
                dc = -1
            if code == 2 or code == 4 or code == 8:
                dr = 1
            elif code == 32 or code == 64 or code == 128:
                dr = -1
            nr, nc = r + dr, c + dc
            if nr < 0 or nc < 0 or nr >= rows or nc >= columns:
                break
            if surface[r, c] == 0:
                step = np.hypot(dr * cell_y, dc * cell_x)
                # the last step ends at the border of the hard cell
                lawn[i] += step if surface[nr, nc] == 0 else 0.5 * step
            r, c = nr, nc
            steps += 1
