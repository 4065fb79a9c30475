"""From the working CRS to the CRS that files are written in."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from affine import Affine
from numpy.typing import NDArray

from screening.result import Screening

__all__ = ["output_transform", "to_output_crs"]


def to_output_crs(shapes: Any, result: Screening) -> NDArray[Any]:
    """Geometries of the working CRS in the output CRS; missing ones stay missing."""
    array = np.asarray(shapes, dtype=object)
    if result.unit_m == 1.0:
        return array
    return np.asarray(shapely.transform(array, lambda points: points / result.unit_m))


def output_transform(transform: Affine, result: Screening) -> Affine:
    """The transform of a raster in units of the output CRS; cells untouched."""
    unit = result.unit_m
    return Affine(*(value / unit for value in tuple(transform)[:6])) if unit != 1.0 else transform
