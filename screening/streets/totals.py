"""What each street sheds, and what its feasible gardens could capture and keep out of the drain."""

from __future__ import annotations

from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.fields import TABLES, conform

__all__ = ["NO_STREET", "gardens_for_share", "kept_curve", "street_totals"]

NO_STREET: Final = "(street unknown)"
"""Where lots without a street are summed up."""

_SUMS: Final = ("roof_area_m2", "storm_runoff_m3", "year_runoff_m3")
_GARDEN_SUMS: Final = ("storm_captured_m3", "storm_kept_m3", "year_captured_m3", "year_kept_m3")


def kept_curve(kept_m3: NDArray[np.float64]) -> NDArray[np.float64]:
    """Water kept against gardens built, best first.

    Parameters
    ----------
    kept_m3
        Water that each garden keeps out of the drain, shape (n,) [m3].

    Returns
    -------
    numpy.ndarray
        Water kept by the best 0, 1, .. n gardens together, shape (n + 1,) [m3].
    """
    best_first = np.sort(np.nan_to_num(kept_m3))[::-1]
    return np.concatenate([[0.0], np.cumsum(best_first)])


def gardens_for_share(kept_m3: NDArray[np.float64], share: float) -> int | None:
    """Count the gardens, best first, that keep a share of what all could; None when none keeps any."""
    curve = kept_curve(kept_m3)
    if curve[-1] <= 0:
        return None
    return int(np.argmax(curve >= share * curve[-1] * (1 - 1e-12)))


def street_totals(lots: Any, streets: Any | None) -> Any:
    """Sum the lots table by street.

    Water of lots stacked on one place is counted once: the first lot of the place carries it.

    Parameters
    ----------
    lots
        The lots table, ranked.
    streets
        The streets layer (``street`` and lines), or None.

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
        row["gardens_for_half"] = gardens_for_share(kept, 0.5)
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
