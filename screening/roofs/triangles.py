"""The last resort for a roof's planes: triangles of the footprint, each given to an eave."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints

if TYPE_CHECKING:
    from screening.roofs.planes import RoofPlanes

__all__ = ["planes_by_triangles", "rings_by_triangles"]


def planes_by_triangles(planes: RoofPlanes, speed: NDArray[np.float64], failed: NDArray[np.int64]) -> RoofPlanes:
    """Fill in the planes of the footprints that failed."""
    feet = planes.footprints
    offsets = feet.edge_offsets
    used, area = planes.speed.copy(), planes.area_m2.copy()
    sizes = np.diff(planes.ring_starts)
    rings = list(np.split(planes.rings[:, 0], planes.ring_starts[1:-1]))
    nodes = list(np.split(planes.nodes, planes.node_offsets[1:-1]))
    for p in failed:
        first, last = offsets[p], offsets[p + 1]
        moving = speed[first:last] > 0
        moving = moving if moving.any() else np.ones(last - first, dtype=bool)
        found = rings_by_triangles(feet, int(p), moving)
        xy = feet.xy_m[first:last] - feet.xy_m[first]
        nodes[p] = np.column_stack([xy, np.zeros(last - first)])
        used[first:last] = moving
        for e, ring in enumerate(found):
            rings[first + e] = ring
            sizes[first + e] = len(ring)
            x, y = xy[ring].T if len(ring) else np.zeros((2, 1))
            area[first + e] = 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    return replace(
        planes,
        speed=used,
        area_m2=area,
        nodes=np.concatenate(nodes),
        node_offsets=np.concatenate([[0], np.cumsum([len(part) for part in nodes])]),
        rings=np.concatenate(rings)[:, np.newaxis],
        ring_starts=np.concatenate([[0], np.cumsum(sizes)]),
    )


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
    for e in np.flatnonzero(moving):
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
