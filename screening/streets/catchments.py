"""The ground whose water ends in each inlet, as outlines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import geopandas as gpd
import numpy as np
import shapely
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS
from rasterio.features import shapes as outlines_of
from rasterio.features import sieve
from scipy import ndimage

from screening.fields import TABLES, conform
from screening.streets.neighbour_colours import neighbour_colours, side_by_side

__all__ = ["catchment_cells", "catchments", "no_catchments"]

_SIDE_M: Final = 2.0
"""Outlines are drawn on squares of about this side, each told by a cell in its middle; never on less than a cell."""

_SPECK_M2: Final = 25.0
"""Smaller pieces go to what lies around them, unless they are all that an inlet has."""

_CORNERS: Final = 2.0
"""How far corners of the squares may be cut, in sides of a square."""


def catchment_cells(
    labels: NDArray[np.int32], walls: NDArray[np.bool_], transform: Affine
) -> tuple[NDArray[np.int32], Affine]:
    """Catchments on squares of at least two metres.

    Parameters
    ----------
    labels
        Number of the inlet that each cell's water ends in, from 1; 0 for none. Shape (rows, columns).
    walls
        Cells under roofs, same shape: they go with the nearest ground, whose gutters and lawns lie side by side.
    transform
        From (column, row) to (x, y). [m]

    Returns
    -------
    tuple
        Numbers as before, specks gone, each square told by a cell in its middle; and the squares' transform.
    """
    step = max(1, round(_SIDE_M / transform.a))
    middle = np.s_[step // 2 :: step, step // 2 :: step]
    taken, walled = labels[middle], walls[middle]
    if walled.any() and not walled.all():
        row, column = ndimage.distance_transform_edt(walled, return_distances=False, return_indices=True)
        taken = taken[row, column]
    squares = Affine(step * transform.a, 0.0, transform.c, 0.0, step * transform.e, transform.f)
    taken = np.ascontiguousarray(taken)
    least = min(int(_SPECK_M2 / (squares.a * -squares.e)), taken.size - 1)
    if least < 2:
        return taken, squares
    whole = sieve(taken, least, connectivity=4)
    gone = np.setdiff1d(taken, whole)
    return np.where(np.isin(taken, gone), taken, whole), squares


def catchments(
    labels: NDArray[np.int32], walls: NDArray[np.bool_], transform: Affine, ids: Sequence[str], crs: CRS
) -> gpd.GeoDataFrame:
    """Outline each inlet's catchment.

    Parameters
    ----------
    labels, walls, transform
        As ``catchment_cells`` takes them.
    ids
        The inlets' ids, in the order that the labels count.
    crs
        The working CRS.

    Returns
    -------
    geopandas.GeoDataFrame
        As ``fields.TABLES["catchments"]``: a row for each inlet that any ground drains to, in the order of the ids.
        Outlines fit together as the catchments do.
    """
    cells, squares = catchment_cells(labels, walls, transform)
    number = np.unique(cells[cells > 0])
    count = np.bincount(cells.ravel(), minlength=len(ids) + 1)[number]
    table = gpd.GeoDataFrame(
        {
            "inlet_id": np.array(ids, dtype=object)[number - 1],
            "area_m2": count * (squares.a * -squares.e),
            "shade": neighbour_colours(len(number), np.searchsorted(number, side_by_side(cells))),
        },
        geometry=_outlines(cells, number, squares),
        crs=crs,
    )
    return conform(table, TABLES["catchments"])


def no_catchments(crs: CRS) -> gpd.GeoDataFrame:
    """The table where no inlets are given: no row."""
    return conform(gpd.GeoDataFrame({"inlet_id": []}, geometry=[], crs=crs), TABLES["catchments"])


def _outlines(cells: NDArray[np.int32], number: NDArray[np.int32], squares: Affine) -> NDArray[np.object_]:
    """Outline of each number as one geometry, corners cut alike on both sides of a border."""
    found = list(outlines_of(cells, mask=cells > 0, connectivity=4))
    if not found:
        return np.empty(0, dtype=object)
    parts = np.array([shapely.geometry.shape(outline) for outline, _ in found], dtype=object)
    of = np.searchsorted(number, np.array([own for _, own in found], dtype=np.int64))
    order = np.argsort(of, kind="stable")
    whole: Any = shapely.multipolygons(parts[order], indices=of[order])
    # a point at every corner of a square: borders of three fit together where the third one joins
    whole = shapely.transform(shapely.segmentize(whole, 1.0), np.round)
    cut: NDArray[np.object_] = shapely.coverage_simplify(whole, _CORNERS)
    return np.asarray(shapely.transform(cut, lambda at: at * [squares.a, squares.e] + [squares.c, squares.f]))
