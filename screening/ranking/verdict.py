"""From reasons to verdicts.

A stage has said of each limit how it stands: ``rules out``, ``look closer``, ``test soil`` or ``note``. The heaviest
decides the lot's verdict, and the first reason of that weight, in the order of the list of reasons, is its deciding
limit. A ruled-out lot is a near pass when every limit that rules it out failed narrowly.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd

from screening.fields import REASONS, SEVERITIES

__all__ = ["NEXT_STEPS", "VERDICTS", "verdicts"]

VERDICTS: Final[dict[str, str]] = {
    "rules out": "ruled out",
    "look closer": "look closer",
    "test soil": "test soil first",
    "note": "approach",
}
"""The verdict that each severity stands for."""

NEXT_STEPS: Final[dict[str, str]] = {
    "fall": "level",
    "carved": "level",
    "slope": "level",
    "slope_look": "level",
    "consent": "call",
    "avoid": "desk",
    "partly_assessed": "desk",
    "not_assessed": "desk",
    "overflow": "visit",
    "tree_crown": "visit",
    "upslope": "visit",
    "small_share": "visit",
    "chance": "visit",
    "failed_test": "soil test",
    "wet_spots": "visit",
    "septic_told": "visit",
    "owner": "call",
    "association": "call",
    "consent_refused": "call",
}
"""What settles each reason to look closer."""


def verdicts(lot_ids: pd.Series[Any], reasons: pd.DataFrame) -> pd.DataFrame:
    """Roll the reasons of each lot up into its verdict.

    Parameters
    ----------
    lot_ids
        Ids of all lots, in order.
    reasons
        Rows ``lot_id, code, severity, near``, as ``fields.TABLES["reasons"]``.

    Returns
    -------
    pandas.DataFrame
        ``lot_id, verdict, deciding_limit, near_pass, next_step``, one row a lot in the order given. A lot without a
        reason is to be approached.

    Raises
    ------
    ValueError
        When a reason has a code or a severity that is not declared, or belongs to no lot.
    """
    weight = {severity: number for number, severity in enumerate(SEVERITIES)}
    order = {code: number for number, code in enumerate(REASONS)}
    unknown = sorted(set(reasons["code"]) - set(order)) + sorted(set(reasons["severity"]) - set(weight))
    if unknown:
        raise ValueError(f"reasons not declared in fields: {', '.join(unknown)}")
    strangers = sorted(set(reasons["lot_id"]) - set(lot_ids))
    if strangers:
        raise ValueError(f"reasons for lots that are not in the table: {', '.join(strangers[:5])}")

    rows = pd.DataFrame(
        {
            "lot_id": reasons["lot_id"].to_numpy(),
            "code": reasons["code"].to_numpy(),
            "weight": reasons["severity"].map(weight).to_numpy(),
            "order": reasons["code"].map(order).to_numpy(),
            "near": reasons["near"].fillna(False).astype(bool).to_numpy(),
        }
    ).sort_values(["lot_id", "weight", "order"], kind="stable")
    first = rows.drop_duplicates("lot_id").set_index("lot_id").reindex(lot_ids)
    weights = first["weight"].fillna(weight["note"]).astype(int).to_numpy()
    verdict = np.array([VERDICTS[severity] for severity in SEVERITIES], dtype=object)[weights]
    code = [None if w == weight["note"] else c for w, c in zip(weights, first["code"], strict=True)]
    outs = rows[rows["weight"] == weight["rules out"]]
    near = outs.groupby("lot_id")["near"].all().reindex(lot_ids).fillna(False).astype(bool).to_numpy()
    steps = [_next_step(v, c) for v, c in zip(verdict, code, strict=True)]
    return pd.DataFrame(
        {
            "lot_id": lot_ids.to_numpy(),
            "verdict": verdict,
            "deciding_limit": pd.array(code, dtype="str"),
            "near_pass": pd.array(near, dtype="boolean"),
            "next_step": pd.array(steps, dtype="str"),
        }
    )


def _next_step(verdict: str, code: str | None) -> str | None:
    """What to do next about a lot: nothing when it is ruled out."""
    if verdict == "ruled out":
        return None
    if verdict == "test soil first":
        return "soil test"
    if verdict == "look closer":
        return NEXT_STEPS.get(code or "", "visit")
    return "call"
