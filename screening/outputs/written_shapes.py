"""Geometries as a file of one geometry type takes them, with no more points than they need."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

__all__ = ["of_one_type", "straightened", "with_fewer_corners"]

_STRAIGHT_M: Final = 1e-6
"""A point this near to the line between its neighbours says nothing."""
_AT_ONCE: Final = 2_000
"""Geometries thinned at a time, so that their points stay in the processor's cache."""
_FEWEST: Final = 9
"""Points of an outline below which it is left alone."""
_PARTS: Final[dict[str, tuple[int, Any]]] = {
    "MultiPolygon": (3, shapely.multipolygons),
    "MultiLineString": (1, shapely.multilinestrings),
}
_COLLECTIONS: Final = (4, 5, 6, 7)


def of_one_type(shapes: Any, geometry_type: str) -> NDArray[Any]:
    """Geometries of one type: parts promoted to multi, and a point inside whatever a point layer is given.

    Parameters
    ----------
    shapes
        Geometries of any type; empty ones count as missing.
    geometry_type
        ``Point``, ``MultiLineString`` or ``MultiPolygon``.

    Returns
    -------
    numpy.ndarray
        Geometries, None where there is none of that type.
    """
    array = np.array(shapes, dtype=object)
    out = np.full(array.shape, None, dtype=object)
    there = ~(shapely.is_missing(array) | shapely.is_empty(array))
    if geometry_type == "Point":
        other = there & (shapely.get_type_id(array) != 0)
        out[there] = array[there]
        out[other] = shapely.point_on_surface(array[other])
        return out
    type_id, promote = _PARTS[geometry_type]
    owner, parts = np.flatnonzero(there), array[there]
    while np.isin(shapely.get_type_id(parts), _COLLECTIONS).any():
        parts, of = shapely.get_parts(parts, return_index=True)
        owner = owner[of]
    wanted = shapely.get_type_id(parts) == type_id
    promote(parts[wanted], indices=owner[wanted], out=out)
    return out


def _near_chord(points_m: NDArray[np.float64], at: NDArray[np.int64], within_m: float) -> NDArray[np.bool_]:
    """Whether points lie between their neighbours, beside or on the segment that joins these, within a distance."""
    x, y = points_m[:, 0], points_m[:, 1]
    before_x, before_y = x[at - 1], y[at - 1]
    along_x, along_y = x[at + 1] - before_x, y[at + 1] - before_y
    to_x, to_y = x[at] - before_x, y[at] - before_y
    length_2 = along_x * along_x + along_y * along_y
    across = along_x * to_y - along_y * to_x
    along = along_x * to_x + along_y * to_y
    beside = (along > 0) & (along < length_2)
    return np.asarray(beside & (across * across <= within_m * within_m * length_2))


def _thinned(shapes: Any, within_m: float, fewest: int, *, every_second: bool) -> NDArray[Any]:
    """Geometries of one kind without the inner points that lie within a distance of the segment past them."""
    array = np.array(shapes, dtype=object)
    there = np.flatnonzero(~(shapely.is_missing(array) | shapely.is_empty(array)))
    for start in range(0, len(there), _AT_ONCE):
        some = there[start : start + _AT_ONCE]
        kind, points, offsets = shapely.to_ragged_array(array[some], include_z=False)
        first = offsets[0]
        sizes = np.diff(first)
        place = np.arange(len(points)) - np.repeat(first[:-1], sizes)
        size = np.repeat(sizes, sizes)
        inner = (place > 0) & (place < size - 1) & (size >= fewest)
        if every_second:
            inner &= place % 2 == 1
        at = np.flatnonzero(inner)
        keep = np.ones(len(points), dtype=bool)
        keep[at] = ~_near_chord(points, at, within_m)
        fewer = np.concatenate([[0], np.cumsum(keep)])[first]
        array[some] = shapely.from_ragged_array(kind, points[keep], (fewer, *offsets[1:]))
    return array


def straightened(lines: Any) -> NDArray[Any]:
    """Lines without the points that lie on the straight between their neighbours.

    Parameters
    ----------
    lines
        Lines, single or multi, working CRS; missing and empty ones stay. [m]
    """
    return _thinned(lines, _STRAIGHT_M, 3, every_second=False)


def with_fewer_corners(outlines: Any, within_m: float) -> NDArray[Any]:
    """Outlines without every second corner, where it lies within a distance of the side that takes its place.

    Parameters
    ----------
    outlines
        Polygons, single or multi, working CRS; missing and empty ones stay. Rings of fewer than nine points stay.
    within_m
        How far an outline may move. [m]
    """
    return _thinned(outlines, within_m, _FEWEST, every_second=True)
