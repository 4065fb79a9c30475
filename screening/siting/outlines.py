"""Polygons of equal cells."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from affine import Affine
from numpy.typing import NDArray
from rasterio.features import shapes

__all__ = ["outlines"]


def outlines(labels: NDArray[np.int32], transform: Affine) -> tuple[NDArray[Any], NDArray[np.int32]]:
    """Outline the regions of equal labels above 0 that hang together by their sides.

    Parameters
    ----------
    labels
        Labels, int32, shape (rows, columns); 0 and below are outside.
    transform
        Of the cells, north-up.

    Returns
    -------
    tuple
        Polygons with their holes, and the label of each.
    """
    found = list(shapes(labels, mask=labels > 0, transform=transform))
    polygons = shapely.from_geojson([str(shape).replace("'", '"').replace("(", "[").replace(")", "]").replace(",]", "]") for shape, _ in found])
    return polygons, np.array([value for _, value in found], dtype=np.int32)
