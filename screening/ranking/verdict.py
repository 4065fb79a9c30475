"""From reasons to verdicts.

A stage has said of each limit how it stands: ``rules out``, ``look closer``, ``test soil`` or ``note``. The heaviest
decides the lot's verdict, and the first reason of that weight, in the order of the list of reasons, is its deciding
limit. A ruled-out lot is a near pass when every limit that rules it out failed narrowly.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.fields import REASONS, SEVERITIES, rows_of

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
    lot = rows_of(lot_ids, reasons["lot_id"])
    heavy = rows_of(SEVERITIES, reasons["severity"])
    kind = rows_of(list(REASONS), reasons["code"])
    unknown = (*_strange(reasons["code"], kind), *_strange(reasons["severity"], heavy))
    if unknown:
        raise ValueError(f"reasons not declared in fields: {', '.join(unknown)}")
    strangers = _strange(reasons["lot_id"], lot)
    if strangers:
        raise ValueError(f"reasons for lots that are not in the table: {', '.join(strangers[:5])}")

    note, out = SEVERITIES.index("note"), SEVERITIES.index("rules out")
    first = np.lexsort((kind, heavy, lot))
    first = first[np.diff(lot[first], prepend=-1) > 0]
    weights, decides = np.full(len(lot_ids), note), np.full(len(lot_ids), -1)
    weights[lot[first]] = heavy[first]
    decides[lot[first]] = kind[first]
    decides[weights == note] = -1
    missed = np.bincount(
        lot[(heavy == out) & ~reasons["near"].fillna(False).to_numpy(dtype=bool)], minlength=len(lot_ids)
    )
    verdict = np.array([VERDICTS[severity] for severity in SEVERITIES], dtype=object)[weights]
    code = np.array([*REASONS, None], dtype=object)[decides]
    steps = [_next_step(v, c) for v, c in zip(verdict.tolist(), code.tolist(), strict=True)]
    return pd.DataFrame(
        {
            "lot_id": lot_ids.to_numpy(),
            "verdict": verdict,
            "deciding_limit": pd.array(code, dtype="str"),
            "near_pass": pd.array((weights == out) & (missed == 0), dtype="boolean"),
            "next_step": pd.array(steps, dtype="str"),
        }
    )


def _strange(column: pd.Series[Any], places: NDArray[np.int64]) -> list[str]:
    """Values that have no place, in order."""
    return sorted(set(column[places < 0]))


def _next_step(verdict: str, code: str | None) -> str | None:
    """What to do next about a lot: nothing when it is ruled out."""
    if verdict == "ruled out":
        return None
    if verdict == "test soil first":
        return "soil test"
    if verdict == "look closer":
        return NEXT_STEPS.get(code or "", "visit")
    return "call"
