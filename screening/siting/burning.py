"""Burn many geometries onto cells at once: what lies inside them or nearer than a distance, by cell centres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from affine import Affine
from numpy.typing import ArrayLike, NDArray

from screening.siting.kernels.burn import burn_polygons, burn_reach

__all__ = ["Segments", "burn", "segments"]

_NOWHERE: NDArray[np.int32] = np.zeros((1, 1), dtype=np.int32)
_FLAT: NDArray[np.float64] = np.zeros((1, 1))


@dataclass(frozen=True, eq=False)
class Segments:
    """Straight pieces of geometries.

    Parameters
    ----------
    start, end
        Their ends, float64, shape (n, 2); a point has both in one place. [m]
    thing
        Number of the geometry that each belongs to, int64.
    """

    start: NDArray[np.float64]
    end: NDArray[np.float64]
    thing: NDArray[np.int64]


def segments(geometry: NDArray[Any], alike: NDArray[np.int64] | None = None) -> Segments:
    """Take geometries apart into segments: points, then boundaries of polygons, then lines.

    ``alike``: a number each, the same for geometries that are the same, which are taken apart once.
    """
    if alike is None:
        return _Parts(geometry).segments()
    _, first, number = np.unique(alike, return_index=True, return_inverse=True)
    parts = _Parts(geometry[first])
    pieces = parts.segments()
    # pieces by kind and geometry, then those of each geometry in turn
    group = parts.kinds() * len(first) + pieces.thing
    count = np.bincount(group, minlength=3 * len(first))
    wanted = (np.arange(3)[:, None] * len(first) + number).ravel()
    each = count[wanted]
    begin = np.cumsum(count) - count
    at = np.repeat(begin[wanted] - (np.cumsum(each) - each), each) + np.arange(each.sum())
    thing = np.repeat(np.tile(np.arange(len(number)), 3), each)
    return Segments(pieces.start[at], pieces.end[at], thing)


def burn(
    geometry: NDArray[Any],
    value: ArrayLike,
    transform: Affine,
    out: NDArray[np.uint32],
    *,
    reach_m: ArrayLike | None = None,
    own: ArrayLike = -1,
    lot: NDArray[np.int32] | None = None,
    level_m: ArrayLike = np.nan,
    ground_m: NDArray[np.float64] | None = None,
    first_wins: bool = False,
) -> None:
    """Write values onto the cells whose centre lies inside a geometry, or nearer to it than its reach.

    Parameters
    ----------
    geometry
        Shapely geometries of any kind.
    value
        Of each geometry, or of all: bits to add, or a number to write.
    transform
        Of the cells, north-up.
    out
        The cells, uint32, written in place.
    reach_m
        Distance of each geometry, or of all; None burns insides only. [m]
    own, lot
        A geometry whose ``own`` is 0 or more burns only cells whose ``lot`` is that.
    level_m, ground_m
        A geometry with a level (not NaN) burns only cells whose ground is higher than it, or unknown. [m]
    first_wins
        Write the number where the cell is still 0, rather than adding bits.
    """
    count = len(geometry)
    if count == 0 or out.size == 0:
        return
    values, owns = _each(value, count, np.uint32), _each(own, count, np.int32)
    levels = _each(level_m, count, np.float64)
    cells = np.require(lot if lot is not None else _NOWHERE, np.int32, ["C", "W"])
    heights = np.require(ground_m if ground_m is not None else _FLAT, np.float64, ["C", "W"])
    size = (float(transform.a), float(-transform.e))
    mode = 1 if first_wins else 0
    parts = _Parts(geometry)
    x, y, ring_start, thing_start = parts.rings(transform)
    burn_polygons(x, y, ring_start, thing_start, values, owns, levels, mode, *size, cells, heights, out)
    if reach_m is None:
        return
    reach = _each(reach_m, count, np.float64)
    pieces = parts.segments()
    ends = (
        pieces.start[:, 0] - transform.c,
        transform.f - pieces.start[:, 1],
        pieces.end[:, 0] - transform.c,
        transform.f - pieces.end[:, 1],
    )
    burn_reach(*ends, pieces.thing, reach, values, owns, levels, mode, *size, cells, heights, out)


def _each(value: ArrayLike, count: int, dtype: Any) -> NDArray[Any]:
    """One value a geometry, in an array of its own: kernels compile once for one kind of array."""
    values = np.empty(count, dtype=dtype)
    values[:] = value
    return values


class _Parts:
    """Geometries taken apart once: rings of polygons, lines and points, each with its geometry's number."""

    def __init__(self, geometry: NDArray[Any]) -> None:
        self.count = len(geometry)
        ids = shapely.get_type_id(geometry)
        parts, thing = geometry, np.arange(self.count)
        several = ids > 3
        if several.any():
            thing = np.repeat(thing, np.where(several, shapely.get_num_geometries(geometry), 1))
            parts = geometry[thing]
            parts[several[thing]] = shapely.get_parts(geometry[several])
            ids = shapely.get_type_id(parts)
        polygons = parts[ids == 3]
        lines = parts[(ids == 1) | (ids == 2)]
        self.ring_xy = shapely.get_coordinates(polygons)
        vertices, of_polygon = _ring_vertices(polygons)
        self.ring = np.repeat(np.arange(len(vertices)), vertices)
        self.ring_start = np.concatenate([[0], np.cumsum(vertices)])
        self.ring_thing = thing[ids == 3][of_polygon]
        self.line_xy, self.line = shapely.get_coordinates(lines, return_index=True)
        self.line_thing = thing[(ids == 1) | (ids == 2)]
        self.points = shapely.get_coordinates(parts[ids == 0])
        self.point_thing = thing[ids == 0]

    def segments(self) -> Segments:
        starts, ends, things = [self.points], [self.points], [self.point_thing]
        for xy, part, thing in (
            (self.ring_xy, self.ring, self.ring_thing),
            (self.line_xy, self.line, self.line_thing),
        ):
            joined = part[1:] == part[:-1]
            starts.append(xy[:-1][joined])
            ends.append(xy[1:][joined])
            things.append(thing[part[1:][joined]])
        return Segments(np.concatenate(starts), np.concatenate(ends), np.concatenate(things).astype(np.int64))

    def kinds(self) -> NDArray[np.int64]:
        """0 point, 1 boundary, 2 line of each segment: a part has one less than it has vertices."""
        joined = [(part[1:] == part[:-1]).sum() for part in (self.ring, self.line)]
        return np.repeat(np.arange(3), [len(self.points), *joined])

    def rings(self, transform: Affine) -> tuple[NDArray[Any], ...]:
        """Vertices from the window's corner, first vertex of each ring, first ring of each geometry."""
        thing_start = np.searchsorted(self.ring_thing, np.arange(self.count + 1))
        return self.ring_xy[:, 0] - transform.c, transform.f - self.ring_xy[:, 1], self.ring_start, thing_start


def _ring_vertices(polygons: NDArray[Any]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Vertices of each ring in the order of the polygons' coordinates, and the polygon of each ring."""
    holes = shapely.get_num_interior_rings(polygons)
    vertices = shapely.get_num_coordinates(polygons).astype(np.int64)
    if not holes.any():
        return vertices, np.arange(len(polygons))
    # an empty polygon has one ring without vertices
    rings = shapely.get_rings(polygons[holes > 0])
    each = np.repeat(vertices, holes + 1)
    of_polygon = np.repeat(np.arange(len(polygons)), holes + 1)
    each[holes[of_polygon] > 0] = shapely.get_num_coordinates(rings)
    return each, of_polygon
