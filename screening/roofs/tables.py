"""Tables of downspouts, roof shares and what was wrong."""

from __future__ import annotations

from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.roofs.given import SNAP_M, GivenSpouts
from screening.roofs.spouts import Shares, Spouts
from screening.rules import Rules

__all__ = ["downspout_table", "left_over", "letters", "share_table"]

LETTERS: Final = np.array(list("abcdefghijklmnopqrstuvwxyz"), dtype=object)


def letters(numbers: NDArray[np.int64]) -> NDArray[Any]:
    """Letters that count: a .. z, aa, ab, ..."""
    out = LETTERS[numbers % 26]
    while (numbers >= 26).any():
        more = numbers >= 26
        numbers = np.where(more, numbers // 26 - 1, -1)
        out = np.where(more, LETTERS[numbers % 26] + out, out)
    return out


def downspout_table(
    spouts: Spouts,
    pieces: gpd.GeoDataFrame,
    given: GivenSpouts,
    layer: gpd.GeoDataFrame | None,
    rules: Rules,
) -> gpd.GeoDataFrame:
    """The downspouts table.

    Parameters
    ----------
    spouts
        The downspouts.
    pieces
        The pieces that are shared out.
    given, layer
        Given downspouts as snapped, and their layer.
    rules
        Least share worth leading.
    """
    piece = np.repeat(np.arange(len(pieces)), np.diff(spouts.offsets))
    placed = spouts.number_given < 0
    row = np.full(len(piece), -1, np.int64)
    row[~placed] = given.row[spouts.number_given[~placed]]
    piece_ids = pieces["piece_id"].to_numpy()[piece]
    ids = piece_ids + "/" + letters(np.arange(len(piece)) - spouts.offsets[piece])
    total = pieces["area_m2"].to_numpy()[piece]
    flat = placed & (pieces["roof_kind"].to_numpy()[piece] == "flat")
    high = np.where(flat, total, spouts.high_m2)
    table = gpd.GeoDataFrame(
        {
            "downspout_id": _from_layer(layer, "downspout_id", row, ids),
            "lot_id": pieces["lot_id"].to_numpy()[piece],
            "piece_id": piece_ids,
            "placed": placed,
            "share_m2": spouts.share_m2,
            "share_low_m2": np.where(flat, 0.0, spouts.low_m2),
            "share_high_m2": high,
            # gutters may fall either way, so a share may be as large as its range
            "worth_leading": high >= rules.roof_share_least_m2,
            "normal_x": spouts.normal[:, 0],
            "normal_y": spouts.normal[:, 1],
            "leads_to": _from_layer(layer, "leads_to", row, np.full(len(piece), None, dtype=object)),
        },
        geometry=shapely.points(spouts.xy_m),
        crs=pieces.crs,
    )
    return table


def _from_layer(layer: gpd.GeoDataFrame | None, column: str, row: NDArray[np.int64], other: NDArray[Any]) -> Any:
    """A column of the given downspouts' layer where a downspout is one of them and has a value, else the other."""
    if layer is None or column not in layer.columns:
        return pd.array(other, dtype="str")
    values = layer[column].astype("object").to_numpy()[row] if len(layer) else other
    use = (row >= 0) & ~pd.isna(values)
    return pd.array(np.where(use, values, other), dtype="str")


def share_table(
    shares: Shares, spouts: Spouts, downspouts: gpd.GeoDataFrame, pieces: gpd.GeoDataFrame
) -> gpd.GeoDataFrame:
    """The roof shares table; a share that is not led has no downspout.

    Parameters
    ----------
    shares, spouts
        The shares and the downspouts.
    downspouts
        The downspouts table.
    pieces
        The pieces that are shared out.
    """
    led = shares.spout >= 0
    ids = np.full(len(led), None, dtype=object)
    row = spouts.offsets[shares.piece[led]] + shares.spout[led]
    ids[led] = downspouts["downspout_id"].astype("object").to_numpy()[row]
    return gpd.GeoDataFrame(
        {
            "lot_id": pieces["lot_id"].to_numpy()[shares.piece],
            "piece_id": pieces["piece_id"].to_numpy()[shares.piece],
            "downspout_id": pd.array(ids, dtype="str"),
            "area_m2": shares.area_m2,
        },
        geometry=shares.polygons,
        crs=pieces.crs,
    )


def left_over(layer: gpd.GeoDataFrame | None, given: GivenSpouts, lots: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Problems: given downspouts on these lots that are near no eave."""
    rows = np.empty(0, np.int64)
    shapes: NDArray[Any] = np.empty(0, dtype=object)
    names: NDArray[Any] = np.empty(0, dtype=object)
    if layer is not None and len(given.left):
        shapes = layer.geometry.to_numpy()[given.left]
        rows = np.unique(shapely.STRtree(lots.geometry.to_numpy()).query(shapes, predicate="intersects")[0])
        shapes = shapes[rows]
        number = given.left[rows].astype(str).astype(object)
        names = _from_layer(layer, "downspout_id", given.left[rows], number)
    return gpd.GeoDataFrame(
        {
            "layer": "downspouts",
            "feature": names,
            "problem": f"no roof with an eave within {SNAP_M:g} m of this downspout",
            "done": "dropped",
            "area_before_m2": np.full(len(rows), np.nan),
            "area_after_m2": np.full(len(rows), np.nan),
        },
        geometry=shapes,
        crs=lots.crs,
    )
