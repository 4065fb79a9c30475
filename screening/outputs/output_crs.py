"""From the working CRS to the CRS that files are written in."""

from __future__ import annotations

from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from affine import Affine

from screening.result import Screening

__all__ = ["in_output_crs", "output_transform"]


def in_output_crs(table: Any, result: Screening) -> gpd.GeoDataFrame:
    """The table with its geometries in the output CRS; missing geometries stay missing."""
    shapes = np.asarray(table.geometry.array, dtype=object)
    if result.unit_m != 1.0:
        shapes = shapely.transform(shapes, lambda points: points / result.unit_m)
    return gpd.GeoDataFrame(table.drop(columns="geometry"), geometry=shapes, crs=result.output_crs)


def output_transform(transform: Affine, result: Screening) -> Affine:
    """The transform of a raster in units of the output CRS; cells untouched."""
    unit = result.unit_m
    return Affine(*(value / unit for value in tuple(transform)[:6])) if unit != 1.0 else transform
