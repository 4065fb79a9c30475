"""Culverts: cut given lines into the heights before water is routed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import numpy as np
from affine import Affine
from numpy.typing import NDArray

from screening.grid import NODATA, WALL, Grid

__all__ = ["culvert_cuts", "cut_culverts", "line_cells"]


def line_cells(
    line_m: NDArray[np.float64], transform: Affine, shape: tuple[int, int]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """Cells that a line crosses, in order along it, each step to one of the eight neighbours.

    Parameters
    ----------
    line_m
        Vertices x, y of the line, shape (n, 2). [m]
    transform, shape
        The raster's.

    Returns
    -------
    rows, columns
        The cells; those off the raster are left out.
    along
        Where on the line its way through each cell has its middle, from 0 at its start to 1 at its end.
    """
    points = np.asarray(line_m, np.float64)
    columns, rows = (points[:, 0] - transform.c) / transform.a, (points[:, 1] - transform.f) / transform.e
    lengths = np.hypot(np.diff(points[:, 0]), np.diff(points[:, 1]))
    chain = np.concatenate([[0.0], np.cumsum(lengths)])
    spans = np.maximum(np.abs(np.diff(columns)), np.abs(np.diff(rows)))
    # half a cell a step at most, so that no step passes over a cell
    pieces = [
        np.linspace(chain[i], chain[i + 1], int(np.ceil(2.0 * span)) + 1) for i, span in enumerate(spans) if span > 0
    ]
    at = np.unique(np.concatenate([*pieces, chain[[0, -1]]]))
    r = np.floor(np.interp(at, chain, rows)).astype(np.int64)
    c = np.floor(np.interp(at, chain, columns)).astype(np.int64)
    new = np.flatnonzero(np.concatenate([[True], (np.diff(r) != 0) | (np.diff(c) != 0)]))
    middle = 0.5 * (at[new] + np.append(at[new[1:]], at[-1]))
    along = middle / chain[-1] if chain[-1] > 0 else middle
    r, c = r[new], c[new]
    inside = (r >= 0) & (r < shape[0]) & (c >= 0) & (c < shape[1])
    return r[inside], c[inside], along[inside]


def culvert_cuts(heights: NDArray[Any], may_cut: NDArray[np.bool_], along: NDArray[np.float64]) -> NDArray[np.float64]:
    """Heights along a culvert: a straight grade between its two ends, never above the ground.

    Parameters
    ----------
    heights
        Ground along the line.
    may_cut
        False at nodata and walls, which stay as they are.
    along
        Where each lies on the line, 0 to 1.
    """
    ends = np.flatnonzero(may_cut)
    if ends.size < 2:
        return np.asarray(heights, np.float64)
    first, last = ends[0], ends[-1]
    span = along[last] - along[first]
    share = (along - along[first]) / span if span > 0 else np.zeros_like(along)
    grade = heights[first] + np.clip(share, 0.0, 1.0) * (np.float64(heights[last]) - heights[first])
    return np.where(may_cut, np.minimum(heights, grade), heights)


def cut_culverts(grid: Grid, lines_m: Iterable[NDArray[np.float64]]) -> tuple[Grid, NDArray[Any]]:
    """Cut culverts into a grid, one after the other, so that water passes through what was built over them.

    Along each line the ground is lowered to the straight grade between its two ends; no cell is raised, and nodata
    and walls stay as they are.

    Parameters
    ----------
    grid
        Heights and states.
    lines_m
        Vertices x, y of each culvert, shape (n, 2). [m]

    Returns
    -------
    grid
        The grid with the cuts.
    depth
        How deep each cell was cut, in height units.
    """
    values = np.array(grid.values)
    for line in lines_m:
        rows, columns, along = line_cells(line, grid.transform, grid.shape)
        state = grid.state[rows, columns]
        cut = culvert_cuts(values[rows, columns], (state != NODATA) & (state != WALL), along)
        np.minimum.at(values, (rows, columns), cut.astype(values.dtype))
    depth = np.where(grid.state == NODATA, values.dtype.type(0), grid.values - values)
    return replace(grid, values=values), depth
