"""Ground near something and above it: where water put into the ground comes down to it."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage

from screening.area import Block
from screening.siting.burning import burn
from screening.siting.outlines import outlines

__all__ = ["ground_levels", "smoothed", "uphill_zones"]


def smoothed(heights_m: NDArray[Any], size: int = 3) -> NDArray[np.float64]:
    """Mean height over a square of cells [m]; NaN where the cell itself has none."""
    known = np.isfinite(heights_m)
    total = ndimage.uniform_filter(np.where(known, heights_m, 0.0).astype(np.float64), size, mode="nearest")
    share = ndimage.uniform_filter(known.astype(np.float64), size, mode="nearest")
    return np.where(known, total / np.maximum(share, 1e-9), np.nan)


def ground_levels(block: Block, geometry: NDArray[Any], heights_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean ground along the edge of each geometry [m]; NaN where the elevation says nothing."""
    dense = shapely.segmentize(geometry, min(block.cell_x_m, block.cell_y_m))
    xy, thing = shapely.get_coordinates(dense, return_index=True)
    rows, columns = block.shape
    row = np.floor((xy[:, 1] - block.transform.f) / block.transform.e).astype(np.int64)
    column = np.floor((xy[:, 0] - block.transform.c) / block.transform.a).astype(np.int64)
    inside = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
    values = np.where(inside, heights_m[row.clip(0, rows - 1), column.clip(0, columns - 1)], np.nan)
    known = np.isfinite(values)
    total = np.bincount(thing[known], values[known], minlength=len(geometry))
    count = np.bincount(thing[known], minlength=len(geometry))
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def uphill_zones(block: Block, geometry: NDArray[Any], reach_m: float | NDArray[np.float64]) -> NDArray[Any]:
    """Ground within reach of a geometry and above the mean ground along its edge; unknown ground counts as above.

    Parameters
    ----------
    block
        The block.
    geometry
        The things.
    reach_m
        How far the zone reaches, one or one each. [m]

    Returns
    -------
    numpy.ndarray
        Polygons.
    """
    if not len(geometry):
        return np.array([], dtype=object)
    heights = smoothed(block.rasters["heights_m"])
    levels = ground_levels(block, geometry, heights)
    reach = np.broadcast_to(np.asarray(reach_m, dtype=np.float64), len(geometry))
    cell = max(block.cell_x_m, block.cell_y_m)
    above = np.zeros(block.shape, dtype=np.uint32)
    burn(
        geometry,
        1,
        block.transform,
        above,
        reach_m=reach + cell,
        level_m=np.where(np.isfinite(levels), levels, -np.inf),
        ground_m=heights,
    )
    regions, _ = outlines(above.astype(np.int32), block.transform)
    near = shapely.buffer(geometry, reach, quad_segs=16)
    tree = shapely.STRtree(regions)
    thing, region = tree.query(near, predicate="intersects")
    order = np.lexsort((region, thing))
    zones = shapely.intersection(near[thing[order]], regions[region[order]])
    polygons: NDArray[Any] = zones[shapely.area(zones) > 0]
    return polygons
