"""What each street sheds, and what its feasible gardens could capture and keep out of the drain."""

from __future__ import annotations

from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd

from screening.fields import TABLES, conform
from screening.rules import Rules
from screening.streets.curve import gardens_wanted, kept_curves

__all__ = ["NO_STREET", "street_totals"]

NO_STREET: Final = "(street unknown)"
"""Where lots without a street are summed up."""

_SUMS: Final = ("roof_area_m2", "storm_runoff_m3", "year_runoff_m3")
_GARDEN_SUMS: Final = ("storm_captured_m3", "storm_kept_m3", "year_captured_m3", "year_kept_m3")


def street_totals(lots: Any, streets: Any | None, rules: Rules) -> Any:
    """Sum the lots table by street.

    Water of lots stacked on one place is counted once: the first lot of the place carries it.

    Parameters
    ----------
    lots
        The lots table, ranked.
    streets
        The streets layer (``street`` and lines), or None.
    rules
        ``wanted_share`` and ``seed``.

    Returns
    -------
    geopandas.GeoDataFrame
        As ``fields.TABLES["streets"]``, streets in the order of their names.
    """
    street = lots["street"].fillna(NO_STREET).replace("", NO_STREET)
    feasible = lots["verdict"] != "ruled out"
    rows = []
    for name in sorted(street.unique()):
        on = (street == name).to_numpy(dtype=bool)
        gardens = on & feasible.to_numpy(dtype=bool)
        row: dict[str, Any] = {"street": name, "lots": int(on.sum()), "feasible": int(gardens.sum())}
        for verdict in ("approach", "test soil first", "look closer", "ruled out"):
            row[verdict.replace(" ", "_")] = int((lots.loc[on, "verdict"] == verdict).sum())
        for column in _SUMS:
            row[column] = _total(lots.loc[on, column])
        for column in _GARDEN_SUMS:
            row[column] = _total(lots.loc[gardens, column])
        kept = lots.loc[gardens, "storm_kept_m3"].astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
        curves = kept_curves(kept, seed=rules.seed)
        row["gardens_for_share"] = gardens_wanted(curves.best, rules.wanted_share)
        row["gardens_for_share_random"] = gardens_wanted(curves.middle, rules.wanted_share)
        shed, total = row["storm_runoff_m3"], row["storm_kept_m3"]
        row["storm_kept_share"] = total / shed if shed and total is not None else None
        rows.append(row)
    lines = _lines_by_name(streets)
    geometry = [lines.get(row["street"]) for row in rows]
    table = gpd.GeoDataFrame(rows, geometry=geometry, crs=lots.crs)
    return conform(table, TABLES["streets"])


def _total(column: Any) -> float | None:
    """Sum of what is known; None when nothing is."""
    known = column.dropna()
    return float(known.sum()) if len(known) else None


def _lines_by_name(streets: Any | None) -> dict[str, Any]:
    """One geometry for each street name."""
    if streets is None or not len(streets):
        return {}
    named = streets[streets["street"].notna()]
    return {str(name): group.geometry.union_all() for name, group in named.groupby("street", sort=True)}


def lots_on_no_street(lots: pd.DataFrame) -> int:
    """Count lots whose street is not known."""
    return int((lots["street"].isna() | (lots["street"] == "")).sum())
