"""Where the working CRS lies on the page's map, as a polynomial that the page works out for itself."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from pyproj import CRS, Transformer

__all__ = ["MERCATOR", "WORLD_M", "WorldFit", "fit_world", "mercator_m"]

MERCATOR: Final = 3857
"""Web Mercator, the projection of the page's map."""
WORLD_M: Final = 2 * np.pi * 6_378_137.0
"""Width of the whole world in Web Mercator: its sphere has the equatorial radius of WGS 84. [m]"""
_DEGREES: Final = range(1, 8)
_NODES: Final = 15
"""Points along each side of the box that a polynomial is fitted to and tried at."""


@dataclass(frozen=True)
class WorldFit:
    """A polynomial from the working CRS to the world, which is 1 wide, x east and y south.

    Parameters
    ----------
    centre_m
        Where the polynomial has its origin, whole metres, working CRS. [m]
    half_m
        What its two variables are divided by. [m]
    x, y
        Coefficients, in order of their powers: 1, north, north**2, ..., east, east north, ..., to the degree.
    worst_m
        Largest distance from the exact place, in Mercator. [m]
    """

    centre_m: tuple[float, float]
    half_m: float
    degree: int
    x: tuple[float, ...]
    y: tuple[float, ...]
    worst_m: float


@lru_cache(maxsize=8)
def _to_mercator(crs: CRS) -> Transformer:
    return Transformer.from_crs(crs, MERCATOR, always_xy=True)


def mercator_m(points_m: NDArray[np.float64], crs: CRS) -> NDArray[np.float64]:
    """Points of the working CRS in Web Mercator, shape (n, 2) [m]."""
    return np.column_stack(_to_mercator(crs).transform(points_m[:, 0], points_m[:, 1]))


def _powers(east: NDArray[np.float64], north: NDArray[np.float64], degree: int) -> NDArray[np.float64]:
    """Every product of powers up to the degree, shape (n, terms)."""
    return np.column_stack([east**i * north**j for i in range(degree + 1) for j in range(degree + 1 - i)])


def fit_world(bounds_m: tuple[float, float, float, float], crs: CRS, near_m: float) -> WorldFit:
    """Fit the polynomial of the least degree that places a box's points closely enough.

    Parameters
    ----------
    bounds_m
        West, south, east, north of the box, working CRS. [m]
    crs
        The working CRS.
    near_m
        Distance within which every point is to lie. [m]

    Returns
    -------
    WorldFit
        With the greatest degree tried when none places them so closely: ``worst_m`` tells.
    """
    west, south, east, north = bounds_m
    centre = (float(np.rint((west + east) / 2)), float(np.rint((south + north) / 2)))
    half = float(np.ceil(max(east - west, north - south) / 2)) + 1.0
    u, v = (side.ravel() for side in np.meshgrid(*2 * [np.linspace(-1.0, 1.0, _NODES)]))
    placed = mercator_m(np.column_stack([centre[0] + half * u, centre[1] + half * v]), crs)
    start = placed[placed.shape[0] // 2]
    for degree in _DEGREES:
        terms = _powers(u, v, degree)
        found: NDArray[Any] = np.linalg.lstsq(terms, placed - start, rcond=None)[0]
        worst = float(np.hypot(*(terms @ found + start - placed).T).max())
        if worst <= near_m:
            break
    found[0] += start
    found /= [WORLD_M, -WORLD_M]
    found[0] += 0.5
    return WorldFit(centre, half, degree, tuple(found[:, 0].tolist()), tuple(found[:, 1].tolist()), worst)
