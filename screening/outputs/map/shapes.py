"""Geometries as whole numbers of a small part of a degree, each the difference to the point before."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS, Transformer

from screening.outputs.map.pack import Pack
from screening.outputs.map.varints import zigzag

__all__ = ["COARSE", "FINE", "pack_shapes", "to_degrees"]

COARSE: Final = 1_000_000
"""Steps in a degree for lots and what is as large: 0.11 m."""
FINE: Final = 10_000_000
"""Steps in a degree for gardens and what is as small: 1.1 cm."""
_SMOOTH_M: Final = 0.02
"""Small outlines are drawn with fewer points to within this."""


def to_degrees(x_m: NDArray[np.float64], y_m: NDArray[np.float64], crs: CRS) -> tuple[Any, Any]:
    """Longitude and latitude (WGS 84) of points in the working CRS [degrees]."""
    lon, lat = Transformer.from_crs(crs, 4326, always_xy=True).transform(x_m, y_m)
    return np.asarray(lon), np.asarray(lat)


def _rings(shapes: NDArray[Any]) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """Rings of each feature, points of each ring, and the points; rings lose the point that closes them."""
    parts, owner = shapely.get_parts(shapes, return_index=True)
    polygonal = np.isin(shapely.get_type_id(parts), (3,))
    if polygonal.any():
        rings, part = shapely.get_rings(parts, return_index=True)
        ring_owner = owner[part]
    else:
        rings, ring_owner = parts, owner
    points, of_ring = shapely.get_coordinates(rings, return_index=True)
    sizes = np.bincount(of_ring, minlength=len(rings)).astype(np.int64)
    if polygonal.any():
        keep = np.ones(len(points), dtype=bool)
        keep[np.cumsum(sizes) - 1] = False
        points, sizes = points[keep], sizes - 1
    counts = np.bincount(ring_owner, minlength=len(shapes)).astype(np.int64)
    return counts, sizes, points


def pack_shapes(pack: Pack, shapes: Any, crs: CRS, steps: int) -> dict[str, Any]:
    """Add the geometries of one layer to the pack.

    Parameters
    ----------
    pack
        Where the sections go.
    shapes
        Points, lines or polygons (single or multi, one kind), working CRS; missing ones have no rings.
    crs
        The working CRS.
    steps
        Steps in a degree.

    Returns
    -------
    dict
        What the page needs to read them: kind, steps, and the numbers of the three sections.
    """
    array = np.array(shapes, dtype=object)
    gone = shapely.is_missing(array) | shapely.is_empty(array)
    array[gone] = None
    dimensions = shapely.get_dimensions(array[~gone])
    kind = "polygon" if (dimensions == 2).any() else "line" if (dimensions == 1).any() else "point"
    if kind == "polygon":
        array[~gone] = shapely.force_2d(array[~gone])
        if steps == FINE:
            array[~gone] = shapely.simplify(array[~gone], _SMOOTH_M)
    counts, sizes, points = _rings(array)
    degrees = np.column_stack(to_degrees(points[:, 0], points[:, 1], crs)) if len(points) else np.zeros((0, 2))
    whole = np.floor(degrees * steps + 0.5).astype(np.int64)
    moves = np.diff(whole, axis=0, prepend=np.zeros((1, 2), dtype=np.int64))
    return {
        "kind": kind,
        "steps": steps,
        "counts": pack.add(counts),
        "sizes": pack.add(sizes),
        "moves": pack.add(zigzag(moves).ravel()),
    }
