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
    ends = feet.ends[first:last] - first
    corners = _triangles(feet, piece, xy)
    rings: list[list[int]] = [[] for _ in range(last - first)]
    sides = {(int(t[k]), int(t[(k + 1) % 3])): i for i, t in enumerate(corners) for k in range(3)}
    free = set(range(len(corners)))
    for e in np.flatnonzero(moving[first:last]):
        i = sides[int(e), int(ends[e])]
        if i in free:
            free.discard(i)
            t = [int(k) for k in corners[i]]
            at = t.index(int(e))
            rings[e] = t[at:] + t[:at]
    eaves = shapely.linestrings(np.stack([xy, xy[ends]], axis=1))
    centres = shapely.points(xy[corners].mean(axis=1))
    while free:
        touching = [
            (float(shapely.distance(centres[i], eaves[e])), e, k, i)
            for e, ring in enumerate(rings)
            for k in range(len(ring))
            if (i := sides.get((ring[(k + 1) % len(ring)], ring[k]), -1)) in free
        ]
        _, e, k, i = min(touching)
        free.discard(i)
        ring = rings[e]
        apex = next(int(c) for c in corners[i] if c not in (ring[k], ring[(k + 1) % len(ring)]))
        ring.insert(k + 1, apex)
    return [np.array(ring, np.int64) for ring in rings]


def _triangles(feet: Footprints, piece: int, xy: NDArray[np.float64]) -> NDArray[np.int64]:
    """Corners of the triangles of one footprint, anticlockwise, shape (T, 3)."""
    first = feet.edge_offsets[piece]
    rings: list[Any] = []
    for r in range(feet.piece_offsets[piece], feet.piece_offsets[piece + 1]):
        rings.append(feet.xy_m[feet.ring_offsets[r] : feet.ring_offsets[r + 1]] - feet.xy_m[first])
    polygon = shapely.Polygon(rings[0], rings[1:])
    triangles = shapely.get_parts(shapely.orient_polygons(shapely.constrained_delaunay_triangles(polygon)))
    corners = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3]
    local = xy - xy[0]
    distance = np.abs(corners[:, :, np.newaxis, :] - local[np.newaxis, np.newaxis]).sum(axis=3)
    return np.asarray(distance.argmin(axis=2), np.int64)
