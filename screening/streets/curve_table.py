"""Curves of water kept against gardens built as one table: of every street, and of the whole area."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd

from screening.fields import TABLES, conform
from screening.rules import Rules
from screening.streets.curve import kept_curves
from screening.streets.totals import NO_STREET

__all__ = ["WHOLE_AREA", "curve_table"]

WHOLE_AREA: Final = "(all)"
"""The name of the curve of all streets together."""

WHOLE_STEPS: Final = 1000
"""Points of the whole area's curve at most; streets have every garden."""


def curve_table(lots: Any, rules: Rules) -> Any:
    """Water kept in the storm by 0, 1, .. n gardens of each street and of the whole area.

    Parameters
    ----------
    lots
        The lots table, ranked.
    rules
        ``seed``.

    Returns
    -------
    pandas.DataFrame
        As ``fields.TABLES["curves"]``: the whole area first, at most ``WHOLE_STEPS`` points of it, then the streets by
        name, each from no garden to all its feasible ones.
    """
    gardens = lots[lots["verdict"] != "ruled out"]
    kept = gardens["storm_kept_m3"].astype("Float64").to_numpy(dtype=np.float64, na_value=0.0)
    street = gardens["street"].fillna(NO_STREET).replace("", NO_STREET).to_numpy(dtype=object)
    parts = [_curve(WHOLE_AREA, kept, rules, most=WHOLE_STEPS)]
    rows_of = pd.Series(np.arange(len(street))).groupby(street, sort=True)
    parts += [_curve(str(name), kept[rows.to_numpy()], rules) for name, rows in rows_of]
    return conform(pd.concat(parts, ignore_index=True), TABLES["curves"])


def _curve(street: str, kept: Any, rules: Rules, most: int | None = None) -> pd.DataFrame:
    count = np.arange(len(kept) + 1)
    if most is not None and len(count) > most:
        count = np.unique(np.round(np.linspace(0, len(kept), most)).astype(np.int64))
    curves = kept_curves(kept, seed=rules.seed, gardens=count)
    return pd.DataFrame(
        {
            "street": street,
            "gardens": count,
            "best_m3": curves.best,
            "low_m3": curves.low,
            "median_m3": curves.middle,
            "high_m3": curves.high,
        }
    )
