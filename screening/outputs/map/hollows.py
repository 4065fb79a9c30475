"""Outlines of hollows that count as wet, with the depth of each."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import rasterio.features
import shapely
from affine import Affine
from numpy.typing import NDArray
from scipy import ndimage
from shapely.geometry.base import BaseGeometry

from screening.rules import Rules
from screening.sources import RasterSource, Window

__all__ = ["hollows"]

_ROWS = 2048


def hollows(depth_m: RasterSource, rules: Rules) -> tuple[list[BaseGeometry], NDArray[np.float64]]:
    """Outline hollows as deep and as large as the rules count.

    Parameters
    ----------
    depth_m
        Depth of natural hollows, read strip by strip; an outline ends where its strip does. [m]
    rules
        ``hollow_depth_m`` and ``hollow_area_m2``.

    Returns
    -------
    tuple
        Outlines, working CRS, and the depth of each at its deepest. [m]
    """
    transform = depth_m.transform
    least_cells = rules.hollow_area_m2 / (transform.a * -transform.e)
    outlines: list[BaseGeometry] = []
    depths: list[float] = []
    rows, columns = depth_m.shape
    for first in range(0, rows, _ROWS):
        depth = depth_m.read(Window(first, 0, min(_ROWS, rows - first), columns))
        number, count = ndimage.label(depth >= rules.hollow_depth_m, structure=np.ones((3, 3)))
        wet = np.flatnonzero(number)
        of_wet = number.ravel()[wet]
        deepest = np.zeros(count + 1)
        np.maximum.at(deepest, of_wet, depth.ravel()[wet])
        large = np.bincount(of_wet, minlength=count + 1) >= least_cells
        place = Affine(transform.a, 0.0, transform.c, 0.0, transform.e, transform.f + first * transform.e)
        for outline, own in _outlines(number, wet[large[of_wet]], place):
            whole = outline if outline.is_valid else shapely.make_valid(outline)
            outlines.append(whole.simplify(0.5 * transform.a))
            depths.append(float(deepest[own]))
    return outlines, np.array(depths)


def _outlines(number: NDArray[np.int32], kept: NDArray[np.int64], place: Affine) -> Iterator[tuple[BaseGeometry, int]]:
    """Outline and number of each hollow, told by the cells that are kept; touching corners join.

    They are traced on the rows and columns that hold some, with one empty one left between those that are apart.
    """
    if not kept.size:
        return
    rows, columns = (np.unique(cells[:, None] + [-1, 0, 1]) for cells in np.unravel_index(kept, number.shape))
    row, column = np.unravel_index(kept, number.shape)
    small = np.zeros((rows.size, columns.size), dtype=np.int32)
    small[np.searchsorted(rows, row), np.searchsorted(columns, column)] = number.ravel()[kept]
    for found, own in rasterio.features.shapes(small, mask=small > 0, connectivity=8):
        outline = shapely.geometry.shape(found)
        corners = shapely.get_coordinates(outline).astype(np.int64)
        x = place.c + columns[corners[:, 0]] * place.a
        y = place.f + rows[corners[:, 1]] * place.e
        yield shapely.set_coordinates(outline, np.column_stack([x, y])), int(own)
