"""Stated chances of one area on file beside what its truth holds, lot by lot."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from screening import Rules, screen
from screening.ranking.chances import chances
from scripts.truths.areas import Truth

__all__ = ["INTERVALS", "TENTH_PAIRS", "WIDEST", "covered", "lot_pairs", "tenths", "worst_gap"]

INTERVALS = (0.5, 0.8)
TENTH_PAIRS = 200
"""Pairs that a tenth needs to be judged."""
WIDEST = 0.10
"""Most by which stated and found may differ."""


def lot_pairs(truth: Truth, rules: Rules) -> pd.DataFrame:
    """Screen what is on file and the truth, and put both side by side.

    What is found is what the whole search finds on the true ground, soil and roofs, without any error: the truth's
    gardens may stand where the maps kept no candidate.

    Returns
    -------
    pandas.DataFrame
        One row a lot: ``feasible``, ``in_first`` (stated), ``is_feasible``, ``is_in_first`` (found), ``rank`` (found,
        infinite where no garden can be), and ``low_..``, ``high_..`` for each of ``INTERVALS``.
    """
    stated = screen(truth.on_file, rules)
    found = screen(truth.true, truth.true_rules).lots
    if found["lot_id"].tolist() != stated.lots["lot_id"].tolist():
        raise ValueError("truth and file must have the same lots")
    rank = found["rank"].astype("Float64").to_numpy(dtype=np.float64, na_value=np.inf)
    rows = pd.DataFrame({"lot_id": found["lot_id"].to_numpy(dtype=object)})
    for share in INTERVALS:
        drawn = chances(stated.tables, rules, rank_share=share)
        none = 1.0 - drawn.feasible
        cut = (1.0 - share) / 2.0
        rows["feasible"], rows["in_first"] = drawn.feasible, drawn.in_first
        rows[f"low_{share}"] = np.where(none > 1.0 - cut, np.inf, drawn.rank_low)
        rows[f"high_{share}"] = np.where(none > cut, np.inf, drawn.rank_high)
    rows["rank"] = rank
    rows["is_feasible"] = np.isfinite(rank)
    rows["is_in_first"] = rank <= rules.visits
    return rows


def tenths(stated: Sequence[float], found: Sequence[bool]) -> pd.DataFrame:
    """Pairs, mean of what was stated and share of what was found in each tenth of stated chance, the last closed."""
    rows = pd.DataFrame({"stated": np.asarray(stated, dtype=np.float64), "found": np.asarray(found, dtype=np.float64)})
    rows["tenth"] = np.minimum(np.floor(rows["stated"] * 10.0 + 1e-9), 9.0) / 10.0
    by = rows.groupby("tenth")
    table = pd.DataFrame({"pairs": by.size(), "stated": by["stated"].mean(), "found": by["found"].mean()})
    return table.assign(gap=table["found"] - table["stated"])


def worst_gap(table: pd.DataFrame) -> float:
    """Widest gap of the tenths with pairs enough; 0 when there is none."""
    judged = table.loc[table["pairs"] >= TENTH_PAIRS, "gap"].abs()
    return float(judged.max()) if len(judged) else 0.0


def covered(pairs: pd.DataFrame, share: float) -> float:
    """Share of the lots that are feasible in some draw whose true rank lies in the interval stated for it."""
    some = pairs[pairs["feasible"] > 0]
    inside = (some["rank"] >= some[f"low_{share}"]) & (some["rank"] <= some[f"high_{share}"])
    return float(inside.mean())
