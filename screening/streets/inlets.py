"""What each inlet's catchment sheds, and what the gardens in it could capture and keep out of it.

A lot may shed to two inlets, its front to the one and its back to the other. What it sheds is split by the roof shares
of its downspouts, paving along with them; what its garden takes, by the shares of the downspouts that it leads. So the
totals by inlet add up to the totals by lot.
"""

from __future__ import annotations

from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd

from screening.fields import TABLES, conform
from screening.fields.id_lists import ids_of

__all__ = ["NO_INLET", "inlet_totals"]

NO_INLET: Final = "(no inlet)"
"""Where water is summed up that meets no inlet."""

_SHED: Final = ("storm_runoff_m3", "year_runoff_m3")
_GARDEN: Final = ("storm_captured_m3", "storm_kept_m3", "year_captured_m3", "year_kept_m3")


def inlet_totals(lots: Any, downspouts: Any, candidates: Any, inlets: Any | None, catchments: Any | None = None) -> Any:
    """Sum the lots table by inlet.

    Parameters
    ----------
    lots
        The lots table with verdicts and ``inlet``.
    downspouts
        ``downspout_id``, ``lot_id``, ``share_m2``, ``inlet``.
    candidates
        ``lot_id``, ``chosen``, ``second`` and ``downspout_ids``.
    inlets
        The layer, or None.
    catchments
        ``inlet_id`` and ``area_m2`` of those that any ground drains to; None where that is not known.

    Returns
    -------
    geopandas.GeoDataFrame
        As ``fields.TABLES["inlet_totals"]``: every inlet of the layer in its order, then the row of what meets none;
        without a layer no row.
    """
    if inlets is None or not len(inlets):
        return conform(gpd.GeoDataFrame({"inlet_id": []}, geometry=[], crs=lots.crs), TABLES["inlet_totals"])
    spouts = _named(downspouts, "inlet")
    own = _named(lots, "inlet")[["lot_id", "inlet"]].astype(object).assign(share_m2=1.0)
    shed = _shares(spouts, own)
    led = _shares(spouts[spouts["downspout_id"].isin(_led(candidates))], shed.rename(columns={"part": "share_m2"}))
    feasible = lots["verdict"] != "ruled out"
    ids = [*(str(name) for name in inlets["inlet_id"]), NO_INLET]
    table = pd.DataFrame(index=pd.Index(ids, name="inlet_id"))
    table["lots"] = own["inlet"].value_counts().reindex(ids).fillna(0)
    table["feasible"] = own.loc[feasible.to_numpy(), "inlet"].value_counts().reindex(ids).fillna(0)
    if catchments is not None:
        area = catchments.set_index("inlet_id")["area_m2"].astype("Float64")
        table["catchment_m2"] = area.reindex(ids)
    for columns, shares, rows in ((_SHED, shed, lots), (_GARDEN, led, lots[feasible])):
        for name in columns:
            table[name] = _split(rows, name, shares).reindex(ids)
    none_shed = table["storm_runoff_m3"].isna() | (table["storm_runoff_m3"] <= 0)
    table["storm_kept_share"] = (table["storm_kept_m3"] / table["storm_runoff_m3"]).mask(none_shed)
    shapes = [*inlets.geometry, None]
    return conform(gpd.GeoDataFrame(table.reset_index(), geometry=shapes, crs=lots.crs), TABLES["inlet_totals"])


def _named(table: Any, column: str) -> pd.DataFrame:
    """The table with its inlets, none under a name of its own."""
    out = pd.DataFrame(table.drop(columns="geometry", errors="ignore"))
    out[column] = out[column].astype(object).where(out[column].notna(), NO_INLET)
    return out


def _led(candidates: Any) -> set[str]:
    """Downspouts that a garden takes."""
    gardens = candidates["chosen"].fillna(False).astype(bool)
    if "second" in candidates:
        gardens |= candidates["second"].fillna(False).astype(bool)
    return {name for text in candidates.loc[gardens, "downspout_ids"] for name in ids_of(text)}


def _shares(spouts: pd.DataFrame, otherwise: pd.DataFrame) -> pd.DataFrame:
    """``lot_id``, ``inlet`` and ``part`` of the lot's water, summing to 1 a lot; ``otherwise`` where no spout tells."""
    known = spouts[spouts["share_m2"].astype(float) > 0][["lot_id", "inlet", "share_m2"]]
    rest = otherwise[~otherwise["lot_id"].isin(known["lot_id"])][["lot_id", "inlet", "share_m2"]]
    both = pd.concat([known.astype({"lot_id": object}), rest], ignore_index=True)
    both = both.groupby(["lot_id", "inlet"], as_index=False)["share_m2"].sum()
    amount = both["share_m2"].astype(float)
    both["part"] = amount / amount.groupby(both["lot_id"]).transform("sum")
    return both[["lot_id", "inlet", "part"]]


def _split(lots: Any, column: str, shares: pd.DataFrame) -> Any:
    """Sum of what is known of a column by inlet, missing where nothing is."""
    value = pd.Series(lots[column].astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan), index=lots["lot_id"])
    amount = shares["lot_id"].map(value) * shares["part"]
    return amount.groupby(shares["inlet"]).sum(min_count=1)
