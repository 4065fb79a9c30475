"""Downspouts that are given: which roof piece and which place on its eaves each belongs to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints, ranges

__all__ = ["SNAP_M", "GivenSpouts", "snap_given"]

SNAP_M: Final = 3.0
"""A given downspout belongs to the nearest roof piece within this distance [m]."""


@dataclass(frozen=True, eq=False)
class GivenSpouts:
    """Given downspouts on eaves, in order of the pieces.

    Parameters
    ----------
    row
        Row number in the layer.
    offsets
        First one of each piece, and their number.
    edge, at_m
        Its eave, numbered within the piece, and its place along that [m].
    left
        Row numbers of those that no roof piece with an eave is near to.
    """

    row: NDArray[np.int64]
    offsets: NDArray[np.int64]
    edge: NDArray[np.int64]
    at_m: NDArray[np.float64]
    left: NDArray[np.int64]


def snap_given(
    downspouts: gpd.GeoDataFrame | None, shapes: NDArray[Any], pieces: Footprints, eave: NDArray[np.bool_]
) -> GivenSpouts:
    """Snap given downspouts to the nearest eave.

    Parameters
    ----------
    downspouts
        Points.
    shapes, pieces
        Roof pieces that are shared out, as polygons and as flat arrays.
    eave
        Whether each edge carries a gutter.
    """
    if downspouts is None or not len(downspouts) or not len(pieces):
        none = np.empty(0, np.int64)
        left = np.arange(0 if downspouts is None else len(downspouts))
        return GivenSpouts(none, np.zeros(len(pieces) + 1, np.int64), none, np.empty(0), left)
    points = shapely.get_coordinates(shapely.centroid(downspouts.geometry.to_numpy()))
    row, piece = shapely.STRtree(shapes).query_nearest(shapely.points(points), max_distance=SNAP_M, all_matches=True)
    order = np.lexsort((piece, row))
    row, first = np.unique(row[order], return_index=True)
    piece = piece[order][first].astype(np.int64)
    edge, at_m = _nearest_eaves(points[row], piece, pieces, eave)
    on = edge >= 0
    row, piece, edge, at_m = row[on], piece[on], edge[on], at_m[on]
    order = np.argsort(piece, kind="stable")
    offsets = np.searchsorted(piece[order], np.arange(len(pieces) + 1))
    left = np.setdiff1d(np.arange(len(points)), row)
    return GivenSpouts(np.asarray(row[order], np.int64), offsets, edge[order], at_m[order], left)


def _nearest_eaves(
    points_m: NDArray[np.float64], piece: NDArray[np.int64], pieces: Footprints, eave: NDArray[np.bool_]
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """For each point the nearest eave of its piece, numbered within it (-1 if it has none), and the place along it."""
    starts, stops = pieces.edge_offsets[piece], pieces.edge_offsets[piece + 1]
    edges, point = ranges(starts, stops), np.repeat(np.arange(len(piece)), stops - starts)
    edges, point = edges[eave[edges]], point[eave[edges]]
    along = pieces.xy_m[pieces.ends[edges]] - pieces.xy_m[edges]
    length = np.hypot(*along.T)
    off = points_m[point] - pieces.xy_m[edges]
    at_m = np.clip(np.sum(off * along, axis=1) / length, 0.0, length)
    away = np.hypot(*(off - along * (at_m / length)[:, np.newaxis]).T)
    order = np.lexsort((edges, away, point))
    found, first = np.unique(point[order], return_index=True)
    edge, place = np.full(len(piece), -1, np.int64), np.zeros(len(piece))
    edge[found] = (edges - starts[point])[order][first]
    place[found] = at_m[order][first]
    return edge, place
