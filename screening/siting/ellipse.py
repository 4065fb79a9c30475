"""The ponding ellipse and its footprint: the ellipse with the berm's ring around it."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from scipy.special import ellipe

__all__ = ["ellipse_polygons", "footprint_area_m2", "half_axes_m", "half_extent_m"]

Floats = NDArray[np.float64]


def half_axes_m(area_m2: ArrayLike, aspect: ArrayLike) -> tuple[Floats, Floats]:
    """Half the length and half the width of an ellipse.

    Parameters
    ----------
    area_m2
        Its area. [m2]
    aspect
        Length over width.
    """
    long = np.sqrt(np.asarray(area_m2, dtype=np.float64) * np.asarray(aspect) / np.pi)
    return np.asarray(long), np.asarray(long / np.asarray(aspect))


def half_extent_m(area_m2: ArrayLike, aspect: ArrayLike, turn_deg: ArrayLike) -> Floats:
    """Half the extent of an ellipse along a direction.

    Parameters
    ----------
    area_m2, aspect
        As in ``half_axes_m``.
    turn_deg
        Angle between the long axis and the direction. [degrees]
    """
    long, short = half_axes_m(area_m2, aspect)
    turn = np.radians(turn_deg)
    return np.asarray(np.hypot(long * np.cos(turn), short * np.sin(turn)))


def footprint_area_m2(area_m2: ArrayLike, aspect: ArrayLike, ring_m: ArrayLike) -> Floats:
    """Area of the ponding ellipse and the ring of even width around it [m2].

    A convex shape grown by r gains its perimeter times r and a circle of radius r (Steiner's formula).
    """
    long, short = half_axes_m(area_m2, aspect)
    perimeter = 4.0 * long * ellipe(1.0 - (short / long) ** 2)
    ring = np.asarray(ring_m, dtype=np.float64)
    return np.asarray(np.asarray(area_m2) + perimeter * ring + np.pi * ring**2)


def ellipse_polygons(
    x_m: ArrayLike,
    y_m: ArrayLike,
    area_m2: ArrayLike,
    aspect: ArrayLike,
    long_axis_deg: ArrayLike,
    *,
    vertices: int = 48,
) -> NDArray[Any]:
    """Ellipses as polygons of so many vertices on the ellipse.

    Parameters
    ----------
    x_m, y_m
        Centres. [m]
    area_m2, aspect
        As in ``half_axes_m``.
    long_axis_deg
        Direction of the long axis, anticlockwise from east. [degrees]
    vertices
        How many.
    """
    long, short = half_axes_m(area_m2, aspect)
    turn = np.radians(np.asarray(long_axis_deg, dtype=np.float64))[:, None]
    angle = np.linspace(0.0, 2.0 * np.pi, vertices, endpoint=False)[None, :]
    along, across = long[:, None] * np.cos(angle), short[:, None] * np.sin(angle)
    x = np.asarray(x_m)[:, None] + along * np.cos(turn) - across * np.sin(turn)
    y = np.asarray(y_m)[:, None] + along * np.sin(turn) + across * np.cos(turn)
    polygons: NDArray[Any] = np.asarray(shapely.polygons(np.stack([x, y], axis=2)))
    return polygons
