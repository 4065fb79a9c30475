"""Geometries as a file of one geometry type takes them, with no more points than they need."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import GeometryType

__all__ = ["Paths", "Thinning", "as_written", "fewer_corners", "of_one_type", "straight", "written_paths"]

_STRAIGHT_M: Final = 1e-6
"""A point this near to the line between its neighbours says nothing."""
_FEWEST: Final = 9
"""Points of an outline below which it is left alone."""
_FAMILIES: Final[dict[str, tuple[GeometryType, GeometryType, Any]]] = {
    "Point": (GeometryType.POINT, GeometryType.POINT, None),
    "MultiLineString": (GeometryType.LINESTRING, GeometryType.MULTILINESTRING, shapely.multilinestrings),
    "MultiPolygon": (GeometryType.POLYGON, GeometryType.MULTIPOLYGON, shapely.multipolygons),
}
"""Type of a part, type of several, what makes one of the other."""
_COLLECTIONS: Final = (4, 5, 6, 7)


@dataclass(frozen=True, eq=False)
class Paths:
    """The points of many geometries of one kind.

    Parameters
    ----------
    points
        x and y of every point, shape (points, 2).
    ends
        Where the items of each level begin among those of the level below, and where the last ends, one longer than
        there are items: paths among points, for areas then polygons among paths (their rings), geometries among parts.
    """

    points: NDArray[np.float64]
    ends: tuple[NDArray[np.int64], ...]

    def kept(self, keep: NDArray[np.bool_]) -> Paths:
        """Those points alone for which ``keep``, shape (points,), says so."""
        return Paths(self.points[keep], (np.concatenate([[0], np.cumsum(keep)])[self.ends[0]], *self.ends[1:]))


Thinning = Callable[[Paths], NDArray[np.bool_]]
"""Which points of paths to keep."""


def of_one_type(shapes: Any, geometry_type: str) -> NDArray[Any]:
    """Geometries of one kind: what is of another left out, and a point inside whatever a point layer is given.

    Parameters
    ----------
    shapes
        Geometries of any type; empty ones count as missing.
    geometry_type
        ``Point``, ``MultiLineString`` or ``MultiPolygon``.

    Returns
    -------
    numpy.ndarray
        Geometries of that type or its single one, None where there is nothing of it.
    """
    array = np.array(shapes, dtype=object)
    single, several, promote = _FAMILIES[geometry_type]
    array[shapely.is_empty(array)] = None
    there = ~shapely.is_missing(array)
    other = there & ~np.isin(shapely.get_type_id(array), (single, several))
    if geometry_type == "Point":
        array[other] = shapely.point_on_surface(array[other])
        return array
    owner, parts = np.flatnonzero(other), array[other]
    array[other] = None
    while np.isin(shapely.get_type_id(parts), _COLLECTIONS).any():
        parts, of = shapely.get_parts(parts, return_index=True)
        owner = owner[of]
    wanted = shapely.get_type_id(parts) == single
    promote(parts[wanted], indices=owner[wanted], out=array)
    return array


def as_written(
    shapes: Any, geometry_type: str, unit_m: float = 1.0, thinning: Thinning | None = None
) -> NDArray[np.object_]:
    """Geometries as a file of one geometry type takes them.

    Parameters
    ----------
    shapes
        Geometries of any type, working CRS, shape (n,); missing where there is none. [m]
    geometry_type
        ``Point``, ``MultiLineString`` or ``MultiPolygon``: what they are turned into, as ``of_one_type`` does.
    unit_m
        Metres in a unit of the coordinates written.
    thinning
        Which points of lines or areas to keep; all of them when None.

    Returns
    -------
    numpy.ndarray
        Geometries of that type alone, None where there is nothing of it.
    """
    array = of_one_type(shapes, geometry_type)
    if geometry_type == "Point":
        return array if unit_m == 1.0 else np.asarray(shapely.transform(array, lambda points: points / unit_m))
    there, paths = written_paths(array, geometry_type, unit_m, thinning)
    array[there] = shapely.from_ragged_array(_FAMILIES[geometry_type][1], paths.points, paths.ends)
    return array


def written_paths(
    shapes: NDArray[Any], geometry_type: str, unit_m: float = 1.0, thinning: Thinning | None = None
) -> tuple[NDArray[np.bool_], Paths]:
    """Which lines or areas, as ``of_one_type`` gives them, are there, and the points of those as they are written.

    Parameters
    ----------
    shapes
        Shape (n,), missing where there is none. [m]
    geometry_type, unit_m, thinning
        As ``as_written`` has them; no points.
    """
    there, paths = _paths_of(shapes, geometry_type)
    if thinning is not None:
        paths = paths.kept(thinning(paths))
    return there, paths if unit_m == 1.0 else Paths(paths.points / unit_m, paths.ends)


def _paths_of(shapes: NDArray[Any], geometry_type: str) -> tuple[NDArray[np.bool_], Paths]:
    """Which lines or areas are there, and the points of those."""
    there = ~shapely.is_missing(shapes)
    some = shapes[there]
    if not some.size:
        none = np.zeros(1, dtype=np.int64)
        return there, Paths(np.zeros((0, 2)), (none,) * (3 if geometry_type == "MultiPolygon" else 2))
    if geometry_type == "MultiPolygon" and _are_rings(some):
        each = np.arange(some.size + 1)
        ends_of_rings = np.concatenate([[0], np.cumsum(shapely.get_num_coordinates(some))])
        return there, Paths(shapely.get_coordinates(some), (ends_of_rings, each, each))
    kind, points, ends = shapely.to_ragged_array(some, include_z=False)
    if kind == _FAMILIES[geometry_type][0]:
        ends = (*ends, np.arange(some.size + 1))
    return there, Paths(points, tuple(each.astype(np.int64) for each in ends))


def _are_rings(shapes: NDArray[Any]) -> bool:
    """Whether every one of some areas is a single outline, without holes."""
    single = (shapely.get_type_id(shapes) == GeometryType.POLYGON).all()
    return bool(single and not shapely.get_num_interior_rings(shapes).any())


def _near_chord(points_m: NDArray[np.float64], within_m: float) -> NDArray[np.bool_]:
    """Whether points, but the first and the last, lie beside or on the segment that joins their neighbours, and near.

    Parameters
    ----------
    points_m
        Shape (points, 2). [m]
    within_m
        How near. [m]
    """
    x, y = np.ascontiguousarray(points_m.T)
    along_x, along_y = x[2:] - x[:-2], y[2:] - y[:-2]
    to_x, to_y = np.diff(x[:-1]), np.diff(y[:-1])
    length_2 = along_x * along_x + along_y * along_y
    across = along_x * to_y - along_y * to_x
    along = along_x * to_x + along_y * to_y
    beside = (along > 0) & (along < length_2)
    return np.asarray(beside & (across * across <= within_m * within_m * length_2))


def _without(paths: Paths, within_m: float, fewest: int, *, every_second: bool) -> NDArray[np.bool_]:
    """Which points to keep when the inner ones go that lie within a distance of the segment past them."""
    first = paths.ends[0]
    sizes = np.diff(first)
    gone = np.zeros(len(paths.points), dtype=bool)
    gone[1:-1] = _near_chord(paths.points, within_m)
    gone &= np.repeat(sizes >= fewest, sizes)
    if every_second:
        gone &= (np.arange(len(gone)) % 2 == 1) ^ np.repeat(first[:-1] % 2 == 1, sizes)
    gone[first[:-1]] = gone[first[1:] - 1] = False
    return ~gone


def straight(lines: Paths) -> NDArray[np.bool_]:
    """Keep the points at which lines turn: not those that lie on the straight between their neighbours.

    Parameters
    ----------
    lines
        Points in the working CRS. [m]
    """
    return _without(lines, _STRAIGHT_M, 3, every_second=False)


def fewer_corners(outlines: Paths, within_m: float) -> NDArray[np.bool_]:
    """Keep every other corner of outlines, and those without which an outline would move by more than a distance.

    Parameters
    ----------
    outlines
        Points in the working CRS; all of a ring of fewer than nine stay. [m]
    within_m
        How far an outline may move. [m]
    """
    return _without(outlines, within_m, _FEWEST, every_second=True)
