"""Which soil tests would change the list most: what the pick's water gains on average from knowing one lot's soil.

With T the least value that the other lots leave in the pick, v the lot's value and p the chance that its soil serves,
a test makes the lot worth v / p with chance p, and nothing otherwise:

    gain = p max(v / p, T) + (1 - p) T - max(v, T)

It is greatest near the edge of the list, and for soils that might go either way. Caps and floors are left out.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.lot_rules import OwnRules, rule_sets
from screening.ranking.season_pick import lot_values_l
from screening.rules import Rules
from screening.siting.soil_limits import chance_too_slow
from screening.siting.spot_limits import text

__all__ = ["knowing_gain_l", "soil_test_gains"]

Floats = NDArray[np.float64]


def knowing_gain_l(value_l: Floats, chance: Floats, least_l: Floats) -> Floats:
    """Mean gain of the pick from knowing each lot's soil [l].

    Parameters
    ----------
    value_l
        Value of each lot before the test, its chance counted in.
    chance
        Chance that its soil serves.
    least_l
        Least value that the others leave in the pick.
    """
    sure = np.divide(value_l, chance, out=np.zeros_like(value_l), where=chance > 0)
    after = chance * np.maximum(sure, least_l) + (1.0 - chance) * least_l
    return np.maximum(after - np.maximum(value_l, least_l), 0.0)


def soil_test_gains(
    lots: Any, candidates: Any, rules: Rules, visits: int | None = None, own_rules: OwnRules | None = None
) -> pd.DataFrame:
    """Soil tests by what they would add to the pick, the most first.

    Parameters
    ----------
    lots
        The lots table, ranked and with chances.
    candidates
        The candidates table; a lot's soil is that of its spot.
    rules
        Limits of the soil, and ``visits`` where none are given.
    visits
        Lots to visit.
    own_rules
        Rules of single lots that differ from ``rules``: how deep a pond their soil must drain.

    Returns
    -------
    pandas.DataFrame
        ``lot_id, street, address, chance_soil, value_l, gain_l`` of untested lots whose test gains something.
    """
    listed = lots[lots["rank"].notna()]
    whole, _ = lot_values_l(listed)
    value = whole.astype(np.float64)
    spots = candidates[candidates["chosen"].fillna(False).astype(bool)].drop_duplicates("lot_id").set_index("lot_id")
    spots = spots.reindex(listed["lot_id"])
    chance = np.empty(len(spots))
    for rows, mine in rule_sets(listed["lot_id"], rules, own_rules or {}):
        chance[rows] = 1.0 - chance_too_slow(spots.iloc[rows], mine)
    n = rules.visits if visits is None else visits
    table = pd.DataFrame(
        {
            "lot_id": listed["lot_id"].to_numpy(),
            "street": listed["street"].to_numpy(),
            "address": listed["address"].to_numpy(),
            "chance_soil": chance,
            "value_l": whole,
            "gain_l": np.floor(knowing_gain_l(value, chance, _least_of_others(value, n)) + 0.5).astype(np.int64),
        }
    )
    open_lots = (table["gain_l"] > 0).to_numpy() & (text(spots, "ksat_source") != "test")
    return table[open_lots].sort_values(["gain_l", "lot_id"], ascending=[False, True]).reset_index(drop=True)


def _least_of_others(value: Floats, visits: int) -> Floats:
    """Value of the last of the first ``visits`` lots when each lot in turn is left out."""
    best = np.sort(value)[::-1]
    if visits <= 0 or visits >= len(best):
        return np.full(len(value), np.inf if visits <= 0 else 0.0)
    return np.asarray(np.where(value >= best[visits - 1], best[visits], best[visits - 1]))
