"""Scores and ranks, in whole numbers: page, pocket calculator and CSV agree exactly."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.fields import OFF_LIST
from screening.ranking.criteria import CRITERIA
from screening.rules import Rules

__all__ = ["ABOUT_EQUAL", "rank_groups", "ranks", "score", "score_lots"]

ABOUT_EQUAL: Final = 200
"""Scores this near to the first of their group are about equal: two points of a hundred."""


def score(values: NDArray[np.int64], weights: NDArray[np.int64]) -> NDArray[np.int64]:
    """Weigh the criteria: ``floor(sum(w v) / sum(w))``.

    Parameters
    ----------
    values
        Values 0 to 10000, shape (lots, criteria).
    weights
        Whole numbers, shape (criteria,).

    Returns
    -------
    numpy.ndarray
        Scores 0 to 10000, int64, shape (lots,); 0 when every weight is 0.
    """
    total = int(weights.sum())
    if total == 0:
        return np.zeros(values.shape[0], dtype=np.int64)
    scores: NDArray[np.int64] = (values @ weights) // total
    return scores


def ranks(scores: NDArray[np.int64], kept_m3: NDArray[np.float64], ranked: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Rank lots: higher score first, ties by water kept out of the drain, then in the order given.

    Parameters
    ----------
    scores, kept_m3
        Of each lot, shape (n,).
    ranked
        False for lots that get no rank.

    Returns
    -------
    numpy.ndarray
        1 for the first, 0 for lots without a rank, int64, shape (n,).
    """
    out = np.zeros(scores.shape[0], dtype=np.int64)
    places = np.flatnonzero(ranked)
    order = np.lexsort((places, -np.nan_to_num(kept_m3[places]), -scores[places]))
    out[places[order]] = np.arange(1, places.size + 1)
    return out


def rank_groups(scores: NDArray[np.int64], rank: NDArray[np.int64]) -> list[str | None]:
    """Tell ranks that are about equal, as ``first-last``: scores within ``ABOUT_EQUAL`` of their group's first."""
    out: list[str | None] = [None] * rank.size
    order = [int(i) for i in np.argsort(rank, kind="stable") if rank[i] > 0]
    start = 0
    while start < len(order):
        end = start
        while end + 1 < len(order) and scores[order[start]] - scores[order[end + 1]] <= ABOUT_EQUAL:
            end += 1
        label = f"{start + 1}-{end + 1}" if end > start else str(start + 1)
        for place in order[start : end + 1]:
            out[place] = label
        start = end + 1
    return out


def score_lots(lots: Any, rules: Rules) -> Any:
    """Add values, score, rank and groups of about equal rank to the lots table.

    Ruled-out lots get none; lots that are off the list (built, refused, ...) keep their score and get no rank.
    """
    out = lots.copy()
    open_lots = (out["verdict"] != "ruled out").to_numpy(dtype=bool)
    values = np.column_stack([function(out, rules) for _, _, function in CRITERIA])
    weights = np.array([getattr(rules, weight) for _, weight, _ in CRITERIA], dtype=np.int64)
    scores = score(values, weights)
    kept = out["storm_kept_m3"].astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    rank = ranks(scores, kept, open_lots & ~_off_list(out))
    for number, (column, _, _) in enumerate(CRITERIA):
        out[column] = pd.array(values[:, number], dtype="Int64")
        out.loc[~open_lots, column] = pd.NA
    out["score"] = pd.array(scores, dtype="Int64")
    out["rank"] = pd.array(rank, dtype="Int64")
    out["rank_group"] = pd.array(rank_groups(scores, rank), dtype="str")
    out.loc[~open_lots, "score"] = pd.NA
    out.loc[rank == 0, "rank"] = pd.NA
    return out


def _off_list(lots: Any) -> NDArray[np.bool_]:
    """Lots that nobody is to approach any more."""
    if "contact_status" not in lots:
        return np.zeros(len(lots), dtype=bool)
    off: NDArray[np.bool_] = lots["contact_status"].isin(OFF_LIST).to_numpy(dtype=bool)
    return off
