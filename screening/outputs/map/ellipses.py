"""Outlines that are ellipses, told by centre and two half axes in place of all their points."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

__all__ = ["as_ellipses"]

_LEAST_POINTS: Final = 16
_NEAR_M: Final = 0.001


def as_ellipses(shapes: NDArray[np.object_]) -> NDArray[np.float64] | None:
    """Find the ellipses that outlines are drawn after.

    Parameters
    ----------
    shapes
        Geometries, shape (n,), none missing.

    Returns
    -------
    numpy.ndarray or None
        Centre and two half axes, x and y of each, shape (n, 3, 2) [m]; None unless every shape is a polygon of one
        ring, all have as many points (a multiple of four, at least sixteen), and each point lies within 1 mm of where
        equal steps around the ellipse put it.
    """
    if not shapes.size or (shapely.get_type_id(shapes) != 3).any() or shapely.get_num_interior_rings(shapes).any():
        return None
    counts = shapely.get_num_coordinates(shapes)
    around = int(counts[0]) - 1
    if around < _LEAST_POINTS or around % 4 or (counts != counts[0]).any():
        return None
    points = shapely.get_coordinates(shapes).reshape(shapes.size, around + 1, 2)
    half, quarter = around // 2, around // 4
    centre = (points[:, 0] + points[:, half]) / 2
    first = (points[:, 0] - points[:, half]) / 2
    second = (points[:, quarter] - points[:, quarter + half]) / 2
    ellipses = np.stack([centre, first, second], axis=1)
    turn = 2 * np.pi * np.arange(around + 1) / around
    weights = np.column_stack([np.ones(around + 1), np.cos(turn), np.sin(turn)])
    off = np.matmul(weights, ellipses)
    off -= points
    return ellipses if max(off.max(), -off.min()) <= _NEAR_M else None
