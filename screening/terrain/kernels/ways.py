"""The first way down of every cell, before any hollow is opened.

A tile is worked on in ``zt``, its heights with one cell of halo: minus infinity is nodata and what lies outside the
raster, plus infinity is a wall. Ways are direction numbers 0..7 (E, SE, S, SW, W, NW, N, NE) or 8 drains out,
9 pit, 10 nodata. ``lower`` has a bit for each neighbour that comes before the cell in the order (height, index).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.jit import compiled

Array = NDArray[Any]


@compiled
def load_tile(z: Array, state: Array, r0: int, c0: int, zt: Array) -> int:
    """Copy a tile with its halo; return what was seen, or-ed: 1 walls, 2 outlets, 4 ground (outlets with it)."""
    rows, columns = z.shape
    width = zt.shape[1]
    seen = 0
    for i in range(zt.shape[0]):
        r = r0 + i - 1
        row = zt[i]
        if r < 0 or r >= rows:
            row[:] = -np.inf
            continue
        first = 1 if c0 == 0 else 0
        last = width - 1 if c0 + width - 2 >= columns else width
        row[0] = -np.inf
        row[width - 1] = -np.inf
        heights, states = z[r], state[r]
        walls, outlets, ground = 0, 0, 0
        for j in range(first, last):
            s = states[c0 + j - 1]
            v = heights[c0 + j - 1]
            v = np.inf if s == 1 else v
            row[j] = -np.inf if s == 3 else v
            walls |= 1 if s == 1 else 0
            outlets |= 2 if s == 2 else 0
            ground |= 0 if s & 1 else 4
        seen |= walls | outlets | ground
    return seen


@compiled
def first_ways(zt: Array, over_x: float, over_y: float, over_xy: float, way: Array, lower: Array) -> None:
    """Steepest descent of every cell of a tile, in float64; the first direction wins ties.

    Written without branches so that it compiles to vector code. An equal neighbour of lower index is lower with
    slope 0, which the least negative number lets in for the last four directions.
    """
    for r in range(way.shape[0]):
        north, here, south = zt[r], zt[r + 1], zt[r + 2]
        for c in range(way.shape[1]):
            z = here[c + 1]
            zd = np.float64(z)
            e, se, s, sw = here[c + 2], south[c + 2], south[c + 1], south[c]
            w, nw, n, ne = here[c], north[c], north[c + 1], north[c + 2]
            m = np.uint8(0)
            k = np.uint8(9)
            best = 0.0
            d = (zd - e) * over_x
            if d > best:
                best = d
                k = np.uint8(0)
            d = (zd - se) * over_xy
            if d > best:
                best = d
                k = np.uint8(1)
            d = (zd - s) * over_y
            if d > best:
                best = d
                k = np.uint8(2)
            d = (zd - sw) * over_xy
            if d > best:
                best = d
                k = np.uint8(3)
            best = -5e-324 if k == 9 else best
            d = (zd - w) * over_x
            if d > best:
                best = d
                k = np.uint8(4)
            d = (zd - nw) * over_xy
            if d > best:
                best = d
                k = np.uint8(5)
            d = (zd - n) * over_y
            if d > best:
                best = d
                k = np.uint8(6)
            d = (zd - ne) * over_xy
            if d > best:
                best = d
                k = np.uint8(7)
            m |= (np.uint8(1) if e < z else np.uint8(0)) | (np.uint8(2) if se < z else np.uint8(0))
            m |= (np.uint8(4) if s < z else np.uint8(0)) | (np.uint8(8) if sw < z else np.uint8(0))
            m |= (np.uint8(16) if w <= z else np.uint8(0)) | (np.uint8(32) if nw <= z else np.uint8(0))
            m |= (np.uint8(64) if n <= z else np.uint8(0)) | (np.uint8(128) if ne <= z else np.uint8(0))
            k = np.uint8(8) if best == np.inf else k
            way[r, c] = np.uint8(10) if z - z != 0 else k
            lower[r, c] = m


@compiled
def crossing_height(z: Array, state: Array, r: int, c: int, step_r: Array, step_c: Array) -> float:
    """Height at which water would cross a cell.

    On ground its own. On a wall its own or that of the lowest ground beside it, whichever is higher, so that heights
    never rise along a way; on a wall at the raster's rim or beside nodata, where its way leads out, its own.
    """
    own: float = z[r, c]
    if state[r, c] != 1:
        return own
    beside = np.inf
    for k in range(8):
        i, j = r + step_r[k], c + step_c[k]
        if i < 0 or j < 0 or i >= z.shape[0] or j >= z.shape[1] or state[i, j] == 3:
            return own
        if state[i, j] != 1:
            beside = min(beside, z[i, j])
    return max(own, beside) if beside < np.inf else own


@compiled
def raise_walls(z: Array, state: Array, r0: int, c0: int, step_r: Array, step_c: Array, zt: Array) -> None:
    """Put the crossing heights of walls in the tile and on its halo into ``zt``."""
    for i in range(zt.shape[0]):
        for j in range(zt.shape[1]):
            r, c = r0 + i - 1, c0 + j - 1
            if 0 <= r < z.shape[0] and 0 <= c < z.shape[1] and state[r, c] == 1:
                zt[i, j] = crossing_height(z, state, r, c, step_r, step_c)


@compiled
def special_ways(
    state: Array, r0: int, c0: int, step_r: Array, step_c: Array, zt: Array, way: Array, lower: Array
) -> None:
    """Set the ways of outlets, and those of walls: out of the raster, else to the lowest ground, else the lowest wall.

    ``zt`` must hold the crossing heights of walls.
    """
    for r in range(way.shape[0]):
        for c in range(way.shape[1]):
            s = state[r0 + r, c0 + c]
            if s == 2:
                way[r, c] = 8
            if s != 1:
                continue
            own = zt[r + 1, c + 1]
            m, best, best_wall, best_z = 0, 9, True, own
            for k in range(8):
                h = zt[r + 1 + step_r[k], c + 1 + step_c[k]]
                if h == -np.inf:
                    best, best_wall, best_z = 8, False, h
                    continue
                wall = state[r0 + r + step_r[k], c0 + c + step_c[k]] == 1
                if wall and (h > own or (h == own and k < 4)):
                    continue
                m |= 1 << k
                # of two alike the lower index comes first: NW, N, NE, W, then E, SW, S, SE
                nearer = best < 8 and (step_r[k], step_c[k]) < (step_r[best], step_c[best])
                first = best == 9 or h < best_z or (h == best_z and nearer)
                if (best_wall and not wall) or (best_wall == wall and first):
                    best, best_wall, best_z = k, wall, h
            way[r, c] = best
            lower[r, c] = m
