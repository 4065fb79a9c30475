"""Outlines of hollows that count as wet, with the depth of each."""

from __future__ import annotations

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
        depth = np.nan_to_num(depth_m.read(Window(first, 0, min(_ROWS, rows - first), columns)))
        number, count = ndimage.label(depth >= rules.hollow_depth_m, structure=np.ones((3, 3)))
        if count == 0:
            continue
        wet = number > 0
        deepest = np.zeros(count + 1)
        np.maximum.at(deepest, number[wet], depth[wet])
        large = np.bincount(number[wet], minlength=count + 1) >= least_cells
        keep = wet & large[number]
        place = Affine(transform.a, 0.0, transform.c, 0.0, transform.e, transform.f + first * transform.e)
        for found, value in rasterio.features.shapes(
            number.astype(np.int32), mask=keep, connectivity=8, transform=place
        ):
            outline = shapely.geometry.shape(found)
            whole = outline if outline.is_valid else shapely.make_valid(outline)
            outlines.append(whole.simplify(0.5 * transform.a))
            depths.append(float(deepest[int(value)]))
    return outlines, np.array(depths)
