"""What the draws add to the lots and to their reasons."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.fields import REASONS, SEVERITIES, TABLES, conform, rows_of
from screening.ranking.chances import Chances
from screening.rules import Rules

__all__ = ["with_chance_reasons", "with_chances"]


def with_chances(lots: Any, drawn: Chances) -> Any:
    """The lots table with ``chance_feasible``, ``chance_in_first``, ``rank_low`` and ``rank_high``."""
    out = lots.copy()
    out["chance_feasible"], out["chance_in_first"] = drawn.feasible, drawn.in_first
    for column, rank in (("rank_low", drawn.rank_low), ("rank_high", drawn.rank_high)):
        out[column] = pd.array(rank, dtype="Int64")
        out.loc[rank == 0, column] = pd.NA
    return out


def with_chance_reasons(
    reasons: pd.DataFrame, lot_ids: pd.Series[Any], ground: NDArray[np.float64], rules: Rules
) -> Any:
    """Reasons with one more for each lot whose ground serves in too few draws.

    The soil's part is left out: what the soil leaves open asks for a test, not for a look.

    Parameters
    ----------
    reasons
        As ``fields.TABLES["reasons"]``.
    lot_ids
        Ids of all lots.
    ground
        ``Chances.ground``.
    rules
        ``chance_look``.
    """
    low = ground < rules.chance_look
    if not low.any():
        return reasons
    reason = REASONS["chance"]
    more = pd.DataFrame(
        {
            "lot_id": lot_ids.to_numpy(dtype=object)[low],
            "code": reason.code,
            "severity": "look closer",
            "measured": ground[low],
            "limit": rules.chance_look,
            "unit": reason.unit,
            "detail": "",
            "near": False,
        }
    )
    both = pd.concat([conform(table, TABLES["reasons"]) for table in (reasons, more)], ignore_index=True)
    lists = (("code", list(REASONS)), ("severity", SEVERITIES), ("lot_id", lot_ids))
    rows = np.lexsort([rows_of(known, both[name]) for name, known in lists])
    return both.iloc[rows].reset_index(drop=True)
