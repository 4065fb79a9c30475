"""The last resort for a roof's planes: triangles of the footprint, each given to an eave."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints

__all__ = ["rings_by_triangles"]


def rings_by_triangles(feet: Footprints, piece: int, moving: NDArray[np.bool_]) -> list[NDArray[np.int64]]:
    """Corners around the plane of each edge of one footprint, empty where there is none.

    Planes grow from the triangle at each eave; of the triangles that touch a plane, the one nearest to that plane's
    eave is taken next. So every plane is in one part and together they are the footprint.
    """
    first, last = feet.edge_offsets[piece], feet.edge_offsets[piece + 1]
    xy = feet.xy_m[first:last]
    _, same, place = np.unique(xy, axis=0, return_index=True, return_inverse=True)
    corner = same[place.reshape(-1)]
    start, end = corner, corner[feet.ends[first:last] - first]
    triangles = [[int(k) for k in row] for row in same[_triangles(feet, piece, xy[same])]]
    sides = {(t[k], t[(k + 1) % 3]): i for i, t in enumerate(triangles) for k in range(3)}
    rings: list[list[int]] = [[] for _ in range(last - first)]
    free = set(range(len(triangles)))
    for e in np.flatnonzero(moving[first:last]):
        i = sides[int(start[e]), int(end[e])]
        if i in free:
            free.discard(i)
            at = triangles[i].index(int(start[e]))
            rings[e] = triangles[i][at:] + triangles[i][:at]
    eaves = np.asarray(shapely.linestrings(np.stack([xy[start], xy[end]], axis=1)))
    centres = np.asarray(shapely.points(xy[np.array(triangles)].mean(axis=1)))
    while free:
        touching = [
            (float(shapely.distance(centres[i], eaves[e])), e, k, i)
            for e, ring in enumerate(rings)
            for k in range(len(ring))
            if (i := sides.get((ring[(k + 1) % len(ring)], ring[k]), -1)) in free
        ]
        _, plane, k, i = min(touching)
        free.discard(i)
        ring = rings[plane]
        ring.insert(k + 1, next(c for c in triangles[i] if c not in (ring[k], ring[(k + 1) % len(ring)])))
    return [np.array(ring, np.int64) for ring in rings]


def _triangles(feet: Footprints, piece: int, corners_m: NDArray[np.float64]) -> NDArray[np.int64]:
    """Corners of the triangles of one footprint, anticlockwise, numbered among the given ones, shape (T, 3)."""
    rings: list[Any] = []
    for r in range(feet.piece_offsets[piece], feet.piece_offsets[piece + 1]):
        rings.append(feet.xy_m[feet.ring_offsets[r] : feet.ring_offsets[r + 1]] - corners_m[0])
    polygon = shapely.Polygon(rings[0], rings[1:])
    triangles = shapely.get_parts(shapely.orient_polygons(shapely.constrained_delaunay_triangles(polygon)))
    xy = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3]
    away = np.abs(xy[:, :, np.newaxis, :] - (corners_m - corners_m[0])[np.newaxis, np.newaxis]).sum(axis=3)
    return np.asarray(away.argmin(axis=2), np.int64)
