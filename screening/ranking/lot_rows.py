"""One row a lot: what the stages found, side by side, before verdicts and ranks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd

from screening.area import Block

__all__ = ["lot_rows", "with_spots"]

_GIVEN: Final = ("lot_id", "street", "address", "zone", "place", "shared_with")

_FROM_SPOT: Final[dict[str, str]] = {
    "hsg": "hsg_spot",
    "hsg_source": "hsg_source",
    "ksat_um_s": "ksat_spot_um_s",
    "ksat_source": "ksat_source",
    "water_table_m": "water_table_m",
    "bedrock_m": "bedrock_m",
    "slope_pct": "slope_spot_pct",
    "side": "spot_side",
    "ponding_area_m2": "ponding_area_m2",
    "room_m2": "room_m2",
    "footprint_m2": "footprint_m2",
    "draining_area_m2": "draining_area_m2",
    "capture_depth_mm": "capture_depth_mm",
    "eligible": "eligible",
    "lead": "lead",
    "fall_m": "fall_m",
    "fall_needed_m": "fall_needed_m",
    "run_m": "run_m",
    "run_on_m2": "run_on_m2",
    "run_on_curve_number": "run_on_curve_number",
    "run_on_m3": "storm_run_on_m3",
    "overflow_to": "overflow_to",
}
"""Columns of the chosen candidate, and what they are called in the lots table."""


def lot_rows(block: Block, tables: Mapping[str, Any]) -> Any:
    """Gather the lots table of a block.

    Parameters
    ----------
    block
        The block; its lots give the rows.
    tables
        What the stages made: ``lot_ground``, ``roof_pieces``, ``downspouts``, ``soil_lots``, ``candidates`` and
        ``lot_water``.

    Returns
    -------
    geopandas.GeoDataFrame
        One row a lot in the block's order; verdict, score and rank still missing.
    """
    ids = block.lots["lot_id"]
    rows = gpd.GeoDataFrame(
        {name: block.lots[name].to_numpy() for name in _GIVEN},
        geometry=block.lots.geometry.to_numpy(),
        crs=block.lots.crs,
    )
    for name in ("lot_ground", "lot_water"):
        found = tables[name].set_index("lot_id").reindex(ids)
        for column in found.columns:
            if column == "street":
                rows["street"] = rows["street"].where(rows["street"].notna(), pd.array(found["street"], dtype="str"))
            else:
                rows[column] = found[column].to_numpy()
    _add_roofs(rows, ids, tables)
    _add_soils(rows, ids, tables["soil_lots"])
    return with_spots(rows, tables["candidates"], tables["soil_lots"])


def with_spots(lots: Any, candidates: Any, soil_lots: Any) -> Any:
    """Lots with the columns of their spots; the source of the group is the lot's where there is no spot.

    Parameters
    ----------
    lots
        Rows with ``lot_id``; what they had of a spot is replaced.
    candidates
        As ``fields.TABLES["candidates"]``, chosen.
    soil_lots
        As ``fields.TABLES["soil_lots"]``, the group with the largest share first.
    """
    rows, ids = lots.copy(), lots["lot_id"]
    spots = candidates[candidates["chosen"].fillna(False).astype(bool)].set_index("lot_id").reindex(ids)
    for column, name in _FROM_SPOT.items():
        rows[name] = spots[column].to_numpy() if column in spots else np.nan
    first = soil_lots.drop_duplicates("lot_id").set_index("lot_id")["source"].reindex(ids)
    of_lot = pd.Series(first.to_numpy(dtype=object), index=rows.index)
    _add_second(rows, ids, candidates)
    rows["hsg_source"] = rows["hsg_source"].where(rows["hsg_source"].notna(), of_lot)
    return rows


def _add_second(rows: Any, ids: Any, candidates: Any) -> None:
    """How many gardens the lot's water counts, and the second one's size."""
    second = candidates[candidates["second"].fillna(False).astype(bool)] if "second" in candidates else candidates[:0]
    second = second.drop_duplicates("lot_id").set_index("lot_id").reindex(ids)
    for column in ("ponding_area_m2", "draining_area_m2"):
        rows[f"second_{column}"] = second[column].to_numpy()
    one = rows["ponding_area_m2"].notna().to_numpy(dtype=int)
    rows["gardens"] = one + second["ponding_area_m2"].notna().to_numpy(dtype=int)


def _add_roofs(rows: Any, ids: Any, tables: Mapping[str, Any]) -> None:
    """Roof area and downspouts of each lot; a lot without a roof has none of either."""
    pieces, downspouts = tables["roof_pieces"], tables["downspouts"]
    by_lot = downspouts.groupby("lot_id")
    rows["roof_area_m2"] = pieces.groupby("lot_id")["area_m2"].sum().reindex(ids).fillna(0.0).to_numpy()
    rows["downspouts"] = by_lot.size().reindex(ids).fillna(0).astype(int).to_numpy()
    placed = downspouts[downspouts["placed"].fillna(True).astype(bool)].groupby("lot_id").size()
    rows["downspouts_placed"] = placed.reindex(ids).fillna(0).astype(int).to_numpy()


def _add_soils(rows: Any, ids: Any, soil_lots: Any) -> None:
    """The group with the largest share, which the soils stage puts first."""
    first = soil_lots.drop_duplicates("lot_id").set_index("lot_id").reindex(ids)
    rows["hsg"] = first["hsg"].to_numpy()
    rows["hsg_share"] = first["share"].to_numpy()
