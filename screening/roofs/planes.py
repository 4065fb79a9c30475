"""Roof planes in plan: the faces of the weighted straight skeleton of each footprint.

Each eave's front moves inward at speed 1 and sweeps its plane; gables and party walls stand still. Where an attempt
does not hold, the next is made, and which one held is kept: other distances at which fronts have met, then every edge
sloped, at last a triangulation whose triangles go to the nearest eave.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints, polygons_of_loops, ranges
from screening.roofs.kernels.planes import planes_of_all
from screening.roofs.kernels.wavefronts import wavefronts_of_all
from screening.roofs.triangles import rings_by_triangles

__all__ = ["METHODS", "RoofPlanes", "roof_planes"]

METHODS: Final = (
    "skeleton",
    "skeleton, other tolerance",
    "skeleton, a gable sloped",
    "skeleton, every edge sloped",
    "triangulation",
)
"""How the planes of a piece were found, from the plain way to the last resort."""

MEET_M: Final = (1e-6, 1e-8, 1e-5, 1e-4)
"""Distances at which fronts have met, tried in this order [m]."""


@dataclass(frozen=True, eq=False)
class RoofPlanes:
    """Planes of many footprints; plane i belongs to edge i and is empty where that edge stands still.

    Parameters
    ----------
    footprints
        The footprints.
    speed
        1 where an edge's front moved, 0 where it stood still, shape (N,).
    area_m2
        Area of each plane in plan, shape (N,). [m2]
    nodes
        x, y about the footprint's first corner and the distance from the eave, shape (K, 3). [m]
    node_offsets
        First node of each footprint, and K.
    rings
        Nodes around each plane, its eave first, numbered within the footprint, shape (R,).
    ring_starts
        First of them for each edge, and R.
    method
        Index into ``METHODS`` for each footprint.
    """

    footprints: Footprints
    speed: NDArray[np.float64]
    area_m2: NDArray[np.float64]
    nodes: NDArray[np.float64]
    node_offsets: NDArray[np.int64]
    rings: NDArray[np.int64]
    ring_starts: NDArray[np.int64]
    method: NDArray[np.int64]

    def polygons(self) -> tuple[NDArray[Any], NDArray[np.int64]]:
        """The planes that are not empty, as polygons, and their edges."""
        edges = np.flatnonzero(np.diff(self.ring_starts) > 0)
        sizes = np.diff(self.ring_starts)[edges]
        piece = np.repeat(self.footprints.piece_of_edge[edges], sizes)
        xy = self.nodes[self.node_offsets[piece] + self.rings, :2]
        xy = xy + self.footprints.xy_m[self.footprints.edge_offsets[piece]]
        starts = np.concatenate([[0], np.cumsum(sizes)])
        return polygons_of_loops(xy, starts, np.arange(len(edges) + 1)), edges

    def with_planes_of(self, other: RoofPlanes, rows: NDArray[np.int64], others: NDArray[np.int64]) -> RoofPlanes:
        """The same with the planes of some footprints (``rows``) taken from another's (``others``)."""
        feet, beside = self.footprints, other.footprints
        piece = np.arange(len(feet))
        piece[rows] = len(feet) + others
        edge_starts = np.concatenate([feet.edge_offsets[:-1], len(feet.xy_m) + beside.edge_offsets[:-1]])[piece]
        edges = ranges(edge_starts, edge_starts + np.diff(feet.edge_offsets))
        nodes, node_offsets = _taken((self.nodes, other.nodes), (self.node_offsets, other.node_offsets), piece)
        rings, ring_starts = _taken((self.rings, other.rings), (self.ring_starts, other.ring_starts), edges)
        return replace(
            self,
            speed=np.concatenate([self.speed, other.speed])[edges],
            area_m2=np.concatenate([self.area_m2, other.area_m2])[edges],
            method=np.concatenate([self.method, other.method])[piece],
            nodes=nodes,
            node_offsets=node_offsets,
            rings=rings,
            ring_starts=ring_starts,
        )


def _taken(
    values: tuple[NDArray[Any], NDArray[Any]], offsets: tuple[NDArray[np.int64], NDArray[np.int64]], rows: NDArray[Any]
) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Some rows of two ragged arrays laid one after the other, and the new offsets."""
    starts = np.concatenate([offsets[0][:-1], len(values[0]) + offsets[1][:-1]])[rows]
    sizes = np.concatenate([np.diff(offsets[0]), np.diff(offsets[1])])[rows]
    return np.concatenate(values)[ranges(starts, starts + sizes)], np.concatenate([[0], np.cumsum(sizes)])


def roof_planes(
    footprints: Footprints, speed: NDArray[np.float64], party: NDArray[np.bool_] | None = None
) -> RoofPlanes:
    """Find the planes of many roofs.

    Parameters
    ----------
    footprints
        The footprints.
    speed
        Speed of each edge: 1 for an eave, 0 for a gable or a party wall, shape (N,).
    party
        Whether each edge is a party wall; when only motionless edges are left, gables are sloped before these.

    Returns
    -------
    RoofPlanes
        Planes that share their nodes and add up to each footprint.

    Raises
    ------
    ValueError
        When a speed is neither 0 nor 1.
    """
    speed = np.asarray(speed, np.float64)
    if speed.shape != (len(footprints.xy_m),) or not np.isin(speed, (0.0, 1.0)).all():
        raise ValueError(f"speed must be 0 or 1 for each of {len(footprints.xy_m)} edges")
    walls = np.zeros(len(speed), np.int64) if party is None else np.asarray(party, np.int64)
    planes, held = _attempt(footprints, speed, walls, MEET_M[0], 0)
    left = np.flatnonzero(~held)
    for method, sloped in ((1, False), (3, True)):
        for eps in MEET_M[0 if sloped else 1 :]:
            if not len(left):
                return planes
            feet, edges = footprints.take(left)
            tried = np.ones(len(edges)) if sloped else speed[edges]
            found, held = _attempt(feet, tried, walls[edges], eps, method)
            planes = planes.with_planes_of(found, left[held], np.flatnonzero(held))
            left = left[~held]
    return _by_triangles(planes, speed, left) if len(left) else planes


def _attempt(
    feet: Footprints, speed: NDArray[np.float64], party: NDArray[np.int64], eps_m: float, method: int
) -> tuple[RoofPlanes, NDArray[np.bool_]]:
    """One attempt at the planes of all footprints, and whether those of each hold.

    A hole whose edges all stand still is sloped at once: the plane around it would be a ring.
    """
    used = speed.copy()
    if not len(feet):
        none = np.zeros(1, np.int64)
        empty = RoofPlanes(feet, used, used, np.empty((0, 3)), none, none[:0], none, none[:0])
        return empty, np.zeros(0, dtype=bool)
    ring = np.repeat(np.arange(len(feet.ring_offsets) - 1), np.diff(feet.ring_offsets))
    moves = np.bincount(ring, weights=speed, minlength=len(feet.ring_offsets) - 1) > 0
    used[feet.on_hole & ~moves[ring]] = 1.0
    ends, nodes, arcs, lines = _wavefronts(feet, used, party, eps_m)
    most = int(np.diff(ends[:, 1:3], axis=0).max(initial=1))
    held, area = np.zeros(len(feet), dtype=bool), np.empty(len(used))
    rings = np.empty(4 * (len(nodes) + len(arcs)) + 64 * len(feet), np.int64)
    starts = np.empty(len(used) + 1, np.int64)
    planes_of_all(
        feet.ring_offsets,
        feet.piece_offsets,
        ends,
        nodes,
        arcs,
        lines,
        1e-6 + 20.0 * eps_m,
        np.empty((most, 2), np.int64),
        np.empty((most, 2), np.int64),
        held,
        area,
        rings,
        starts,
    )
    rings = rings[: starts[-1]]
    sloped = np.zeros(len(feet), dtype=bool)
    sloped[feet.piece_of_edge[used != speed]] = True
    methods = np.where(sloped, 2, method)
    return RoofPlanes(feet, used, area, nodes, ends[:, 1].copy(), rings, starts, methods), held


def _wavefronts(
    feet: Footprints, speed: NDArray[np.float64], party: NDArray[np.int64], eps_m: float
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.int64], NDArray[np.float64]]:
    """Run the wavefront of every footprint: ends, nodes, arcs, lines; changes ``speed`` where gables were sloped."""
    most = int(np.diff(feet.edge_offsets).max(initial=4))
    room, rows, given = 10 * most + 128, 4, speed.copy()
    while True:
        ends = np.zeros((len(feet) + 1, 4), np.int64)
        nodes, lines = np.empty((rows * len(speed), 3)), np.empty((rows * len(speed), 5))
        arcs = np.empty((rows * len(speed), 4), np.int64)
        if wavefronts_of_all(
            feet.xy_m,
            feet.ring_offsets,
            feet.piece_offsets,
            speed,
            party,
            eps_m,
            np.empty((room, 8), np.int64),
            np.empty((room, 4)),
            np.empty((room, 5)),
            np.empty(room, np.int64),
            np.empty((room, 3)),
            np.empty((2 * room, 4), np.int64),
            np.empty((2 * room, 7), np.int64),
            np.zeros(5, np.int64),
            np.empty((most, 2)),
            np.empty(most + 1, np.int64),
            ends,
            nodes,
            arcs,
            lines,
        ):
            return ends, nodes[: ends[-1, 1]], arcs[: ends[-1, 2]], lines[: ends[-1, 3]]
        speed[:] = given
        rows *= 2


def _by_triangles(planes: RoofPlanes, speed: NDArray[np.float64], rows: NDArray[np.int64]) -> RoofPlanes:
    """Fill in the planes of the footprints for which no attempt held."""
    feet, edges = planes.footprints.take(rows)
    moving = speed[edges] > 0
    none = ~np.isin(feet.piece_of_edge, feet.piece_of_edge[moving])
    moving |= none
    rings = [ring for p in range(len(feet)) for ring in rings_by_triangles(feet, p, moving)]
    starts = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])])
    local = feet.xy_m - feet.xy_m[feet.edge_offsets[feet.piece_of_edge]]
    area = np.zeros(len(edges))
    for e, ring in enumerate(rings):
        x, y = local[feet.edge_offsets[feet.piece_of_edge[e]] + ring].T if len(ring) else np.zeros((2, 1))
        area[e] = 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    found = RoofPlanes(
        feet,
        moving.astype(np.float64),
        area,
        np.column_stack([local, np.zeros(len(local))]),
        feet.edge_offsets,
        np.concatenate(rings),
        starts,
        np.full(len(feet), METHODS.index("triangulation")),
    )
    return planes.with_planes_of(found, rows, np.arange(len(rows)))
