"""Polygons of equal cells."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from affine import Affine
from numpy.typing import NDArray

from screening.siting.kernels.outlines import count_corners, number_regions, trace_rings

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
        Valid polygons with their holes, in order of their first cells, and the label of each.
    """
    rows, columns = labels.shape
    region = np.zeros((rows + 2, columns + 2), dtype=np.int32)
    label_of = np.empty(labels.size + 1, dtype=np.int32)
    count = number_regions(labels, region, np.empty(labels.size + 1, dtype=np.int32), label_of)
    if count == 0:
        return np.array([], dtype=object), np.array([], dtype=np.int32)
    corners = count_corners(region)
    vertex = np.empty((corners * 3 // 2 + 2, 2), dtype=np.int32)
    ring_start = np.empty(corners // 4 + 2, dtype=np.int64)
    ring_region = np.empty(corners // 4 + 2, dtype=np.int32)
    rings = trace_rings(region, np.zeros(region.shape, dtype=np.uint8), vertex, ring_start, ring_region)
    used, ring_region = ring_start[rings], ring_region[:rings]
    x = transform.c + transform.a * (vertex[:used, 1] - 1.0)
    y = transform.f + transform.e * (vertex[:used, 0] - 1.0)
    which = np.repeat(np.arange(rings), np.diff(ring_start[: rings + 1]))
    lines = np.asarray(shapely.linearrings(np.column_stack([x, y]), indices=which))
    order = np.argsort(ring_region, kind="stable")
    polygons = np.asarray(shapely.polygons(lines[order], indices=ring_region[order] - 1))
    return polygons, label_of[1 : count + 1].copy()
