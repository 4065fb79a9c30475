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
    ring_start, ring_region = ring_start[: rings + 1], ring_region[:rings]
    # rings of one region follow each other, as its holes were met after outer rings of others
    order = np.argsort(ring_region, kind="stable")
    corners_of = np.diff(ring_start)[order]
    ends = np.concatenate([[0], np.cumsum(corners_of)])
    corner = vertex[np.repeat(ring_start[:-1][order] - ends[:-1], corners_of) + np.arange(ends[-1])]
    xy = np.empty((len(corner), 2))
    xy[:, 0] = transform.c + transform.a * (corner[:, 1] - 1.0)
    xy[:, 1] = transform.f + transform.e * (corner[:, 0] - 1.0)
    rings_to = np.cumsum(np.bincount(ring_region, minlength=count + 1))
    polygons = shapely.from_ragged_array(shapely.GeometryType.POLYGON, xy, (ends, rings_to))
    return polygons, label_of[1 : count + 1].copy()
