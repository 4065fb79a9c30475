"""What each street sheds, and what its feasible gardens could capture and keep out of the drain."""

from __future__ import annotations

from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

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
    number, names = pd.factorize(street, sort=True)
    order = np.argsort(number, kind="stable")
    ends = np.cumsum(np.bincount(number, minlength=len(names))).tolist()
    verdict = lots["verdict"].to_numpy(dtype=object)[order]
    columns = {name: _floats(lots[name])[order] for name in dict.fromkeys((*_SUMS, *_GARDEN_SUMS, "storm_kept_m3"))}
    rows = []
    for name, start, end in zip(names, [0, *ends[:-1]], ends, strict=True):
        on = {column: values[start:end] for column, values in columns.items()}
        rows.append(_row(str(name), verdict[start:end], on, rules))
    lines = _lines_by_name(streets)
    geometry = [lines.get(row["street"]) for row in rows]
    table = gpd.GeoDataFrame(rows, geometry=geometry, crs=lots.crs)
    return conform(table, TABLES["streets"])


def _row(name: str, verdict: NDArray[Any], on: dict[str, NDArray[np.float64]], rules: Rules) -> dict[str, Any]:
    """Totals of the lots on one street."""
    gardens = verdict != "ruled out"
    row: dict[str, Any] = {"street": name, "lots": len(verdict), "feasible": int(gardens.sum())}
    for one in ("approach", "test soil first", "look closer", "ruled out"):
        row[one.replace(" ", "_")] = int((verdict == one).sum())
    for column in _SUMS:
        row[column] = _total(on[column])
    for column in _GARDEN_SUMS:
        row[column] = _total(on[column][gardens])
    curves = kept_curves(on["storm_kept_m3"][gardens], seed=rules.seed)
    row["gardens_for_share"] = gardens_wanted(curves.best, rules.wanted_share)
    row["gardens_for_share_random"] = gardens_wanted(curves.middle, rules.wanted_share)
    shed, total = row["storm_runoff_m3"], row["storm_kept_m3"]
    row["storm_kept_share"] = total / shed if shed and total is not None else None
    return row


def _floats(column: Any) -> NDArray[np.float64]:
    values: NDArray[np.float64] = pd.to_numeric(column).astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    return values


def _total(values: NDArray[np.float64]) -> float | None:
    """Sum of what is known; None when nothing is."""
    known = values[~np.isnan(values)]
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
