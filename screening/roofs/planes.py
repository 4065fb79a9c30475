"""Roof planes in plan: the faces of the weighted straight skeleton of each footprint.

Each eave's front moves inward at speed 1 and sweeps its plane; gables and party walls stand still. Where an attempt
does not hold, the next is made, and which one held is kept: other distances at which fronts have met, then every edge
sloped, at last a triangulation whose triangles go to the nearest eave.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints, polygons_of_loops
from screening.roofs.kernels.planes import ALL_SLOPED, NO_PLANES, planes_of_all
from screening.roofs.triangles import planes_by_triangles

__all__ = ["METHODS", "RoofPlanes", "roof_planes"]

METHODS: Final = (
    "skeleton",
    "skeleton, other tolerance",
    "skeleton, a gable sloped",
    "skeleton, every edge sloped",
    "triangulation",
)
"""How the planes of a piece were found, from the plain way to the last resort."""


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
        Nodes around each plane, its eave first, numbered within the footprint, shape (R, 1).
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
        xy = self.nodes[self.node_offsets[piece] + self.rings[:, 0], :2]
        xy = xy + self.footprints.xy_m[self.footprints.edge_offsets[piece]]
        starts = np.concatenate([[0], np.cumsum(sizes)])
        return polygons_of_loops(xy, starts, np.arange(len(edges) + 1)), edges


def roof_planes(
    footprints: Footprints, speed: NDArray[np.float64], party: NDArray[np.int64] | None = None
) -> RoofPlanes:
    """Find the planes of many roofs.

    Parameters
    ----------
    footprints
        The footprints.
    speed
        Speed of each edge: 1 for an eave, 0 for a gable or a party wall, shape (N,).
    party
        1 where an edge is a party wall; when only motionless edges are left, gables are sloped before these.

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
    party = np.zeros(len(speed), np.int64) if party is None else np.asarray(party, np.int64)
    held, used, area, nodes, node_offsets, rings, ring_starts = planes_of_all(
        footprints.xy_m, footprints.ring_offsets, footprints.piece_offsets, speed, party
    )
    sloped = np.bincount(footprints.piece_of_edge[used != speed], minlength=len(footprints)) > 0
    method = np.select([held == NO_PLANES, held >= ALL_SLOPED, sloped, held > 0], [4, 3, 2, 1], 0)
    planes = RoofPlanes(footprints, used, area, nodes, node_offsets, rings, ring_starts, method)
    failed = np.flatnonzero(held == NO_PLANES)
    return planes_by_triangles(planes, speed, failed) if len(failed) else planes
