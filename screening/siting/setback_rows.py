"""Rows of things that take ground: a geometry, how far it keeps a garden away, and whose ground it takes."""

from __future__ import annotations

from functools import cache
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import ArrayLike, NDArray
from pyproj import CRS

from screening.area import AreaContext

__all__ = ["clearances", "no_rows", "setback_rows"]


def setback_rows(
    context: AreaContext,
    geometry: Any,
    clearance_m: ArrayLike,
    *,
    lot: ArrayLike = -1,
    detail: ArrayLike = "",
) -> gpd.GeoDataFrame:
    """Make the rows of one constraint.

    Parameters
    ----------
    context
        For the CRS.
    geometry
        Geometries of the things; empty and missing ones are left out.
    clearance_m
        From the geometry to the outer edge of the berm ring, one or one each. [m]
    lot
        Position of the one lot whose ground it takes, -1 for any lot's.
    detail
        What it is, for the reason: a name or a sentence.
    """
    geometries = np.asarray(geometry, dtype=object)
    count = len(geometries)
    if count == 0:
        return no_rows(context)
    table = pd.DataFrame(
        {
            "lot": np.broadcast_to(np.asarray(lot, dtype=np.int32), count),
            "clearance_m": np.broadcast_to(np.asarray(clearance_m, dtype=np.float64), count),
            "detail": np.broadcast_to(np.asarray(detail, dtype=object), count),
        }
    )
    rows = gpd.GeoDataFrame(table, geometry=geometries, crs=context.crs)
    missing = shapely.is_empty(geometries) | shapely.is_missing(geometries)
    return rows[~missing].reset_index(drop=True) if missing.any() else rows


def no_rows(context: AreaContext) -> gpd.GeoDataFrame:
    """Rows of a constraint that nothing on the block raises."""
    return _empty(context.crs)


@cache
def _empty(crs: CRS) -> gpd.GeoDataFrame:
    columns = {"lot": np.int32, "clearance_m": np.float64, "detail": object}
    return gpd.GeoDataFrame({name: np.array([], dtype=kind) for name, kind in columns.items()}, geometry=[], crs=crs)


def clearances(given: Any, rule_m: ArrayLike) -> NDArray[np.float64]:
    """Clearance given with each feature, the rule's where none is."""
    values = pd.to_numeric(given).astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    return np.where(np.isnan(values), rule_m, values)
