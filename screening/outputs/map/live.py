"""What the page needs to judge lots anew: of each candidate and lot, what no live rule moves, in few whole numbers."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.fields import REASONS, SEVERITIES, Field, rows_of
from screening.lot_rules import rule_sets
from screening.ranking.changed_rules import live_range, spot_codes
from screening.ranking.verdict import NEXT_STEPS
from screening.result import Screening
from screening.rules import Rules
from screening.siting.choose import may_be_second, reasons_of, severity_of
from screening.siting.spot_limits import RULES_OUT

__all__ = ["LIVE_CODES", "candidate_tables", "live_texts", "lot_table"]

LIVE_CODES: Final = ("fall", "slope", "slope_look", "under_minimum", "water_table", "bedrock")
"""Limits that the page judges itself; what the others say of a candidate is told it."""


def _whole(name: str, meaning: str) -> Field:
    return Field(name, "integer", "", 0, "outputs", meaning)


def _summary_fields(of: str) -> tuple[Field, ...]:
    return (
        _whole(f"{of}_weight", "How the heaviest of these reasons stands, 0 (none) to 4 (rules out)."),
        _whole(f"{of}_count", "How many are as heavy."),
        _whole(f"{of}_code", "The first of these in the list of reasons."),
        _whole(f"{of}_near", "1 when every one that rules out failed narrowly."),
    )


_BESIDE: Final = _whole(
    "beside", "Candidates of the lot that may be the second garden beside this one, a bit for each."
)
_KEPT_REASONS: Final = (
    Field("lot_id", "text", "", 0, "siting", "The lot."),
    _whole("candidate", "The candidate."),
    Field("code", "text", "", 0, "siting", "What the reason is about."),
    Field("severity", "text", "", 0, "siting", "How it stands."),
    Field("measured", "number", "", 0.001, "siting", "Measured value."),
    Field("limit", "number", "", 0.001, "siting", "Its limit."),
    Field("detail", "text", "", 0, "siting", "A name or a source that the sentence needs."),
    Field("near", "flag", "", 0, "siting", "A limit failed narrowly."),
)


def _summary(found: pd.DataFrame, count: int, of: str) -> pd.DataFrame:
    """Reasons (``row, code, weight, near``) in a few numbers a row."""
    severity, heaviest = severity_of(found, count)
    row, weight = found["row"].to_numpy(dtype=np.int64), found["weight"].to_numpy(dtype=np.int64)
    code = np.full(count, len(REASONS), dtype=np.int64)
    decides = weight == severity[row]
    orders = rows_of(list(REASONS), found["code"])
    np.minimum.at(code, row[decides], orders[decides])
    near = np.ones(count, dtype=bool)
    np.logical_and.at(near, row[weight == RULES_OUT], found["near"].to_numpy(dtype=bool)[weight == RULES_OUT])
    columns = {f"{of}_weight": severity, f"{of}_count": heaviest, f"{of}_code": code, f"{of}_near": near.astype(int)}
    return pd.DataFrame({name: pd.array(values, dtype="Int64") for name, values in columns.items()})


def _of_lots(result: Screening) -> pd.DataFrame:
    """What holds of each lot whatever its spot, and whether the draws ask to look closer."""
    reasons, lots = result.tables["reasons"], result.tables["lots"]
    codes = spot_codes(result.tables["candidates"], result.rules)
    own = reasons[~reasons["code"].isin((*codes, "chance", "taken"))]
    weights = {name: 4 - at for at, name in enumerate(SEVERITIES)}
    rows = pd.DataFrame(
        {
            "row": rows_of(lots["lot_id"], own["lot_id"]),
            "code": own["code"].to_numpy(dtype=object),
            "weight": own["severity"].map(weights).to_numpy(dtype=np.int64),
            "near": own["near"].fillna(False).to_numpy(dtype=bool),
        }
    )
    low = lots["lot_id"].isin(reasons.loc[reasons["code"] == "chance", "lot_id"]).astype("Int64")
    return _summary(rows, len(lots), "own").assign(chance_low=low.to_numpy())


def _may_be_second(candidates: pd.DataFrame, result: Screening) -> NDArray[np.int64]:
    """Which candidates may be a second garden beside each, by the rules of its lot."""
    out = np.zeros(len(candidates), dtype=np.int64)
    for rows, mine in rule_sets(candidates["lot_id"], result.rules, result.own_rules):
        out[rows] = may_be_second(candidates.iloc[rows], mine)
    return out


def lot_table(result: Screening) -> tuple[pd.DataFrame, tuple[Field, ...]]:
    """The table ``own``, row by row as ``lots``, with its fields."""
    return _of_lots(result), (*_summary_fields("own"), _whole("chance_low", "1 when the draws ask to look closer."))


def candidate_tables(result: Screening) -> dict[str, tuple[pd.DataFrame, tuple[Field, ...]]]:
    """Tables of the candidates, ranked or not, each with its fields.

    Returns
    -------
    dict
        ``judged`` (row by row as ``candidates``) and ``kept_reasons``: what the sentences about candidates need.
    """
    candidates = result.tables["candidates"]
    fixed = reasons_of(candidates, result.rules, result.own_rules, but=LIVE_CODES)
    judged, fields = _summary(fixed, len(candidates), "fixed"), _summary_fields("fixed")
    beside = _may_be_second(candidates, result)
    if beside.any():
        judged, fields = judged.assign(beside=pd.array(beside, dtype="Int64")), (*fields, _BESIDE)
    names = candidates[["lot_id", "candidate"]].iloc[fixed["row"].to_numpy(dtype=np.int64)].reset_index(drop=True)
    return {
        "judged": (judged, fields),
        "kept_reasons": (pd.concat([names, fixed], axis=1), _KEPT_REASONS),
    }


def live_texts(rules: Rules) -> dict[str, Any]:
    """What the page is told of the rules that it can change."""
    return {
        "live_ranges": {name: list(live_range(name, rules)) for name in ("capture_depth_mm", "slope_limit_pct")},
        "next_steps": NEXT_STEPS,
        "codes": list(REASONS),
    }
