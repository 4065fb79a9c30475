"""Reasons as sentences, in metric or US units. Numbers come with their unit; missing numbers say so."""

from __future__ import annotations

import math
from typing import Any, Final, Literal

import pandas as pd

from screening.fields import REASONS, SEVERITIES, Reason
from screening.units import FOOT_M, INCH_MM, SQUARE_FOOT_M2

__all__ = ["Units", "amount", "lot_reasons", "sentence"]

Units = Literal["metric", "us"]

_US: Final[dict[str, tuple[str, float]]] = {
    "m": ("ft", FOOT_M),
    "m2": ("sq ft", SQUARE_FOOT_M2),
    "mm": ("in", INCH_MM),
    "mm/h": ("in/h", INCH_MM),
}
_DECIMALS: Final[dict[str, int]] = {
    "m": 2,
    "m2": 1,
    "mm": 0,
    "mm/h": 1,
    "%": 1,
    "h": 0,
    "ft": 1,
    "sq ft": 0,
    "in": 1,
    "in/h": 2,
}


def amount(value: float | None, unit: str, units: Units = "metric") -> str:
    """Write a number with its unit as people read it.

    Parameters
    ----------
    value
        The number in ``unit``; None or NaN reads ``unknown``.
    unit
        SI unit of the fields: m, m2, mm, mm/h, %, h, share or none.
    units
        ``metric`` or ``us``.
    """
    if value is None or pd.isna(value) or not math.isfinite(value):
        return "unknown"
    if unit == "share":
        return f"{100 * value:.0f}%"
    if units == "us" and unit in _US:
        unit, factor = _US[unit]
        value = value / factor
    text = f"{value:.{_DECIMALS.get(unit, 0)}f}"
    if unit == "%":
        return f"{text}%"
    return f"{text} {unit}".strip()


def sentence(reason: Reason, measured: Any, limit: Any, unit: str, detail: Any, units: Units = "metric") -> str:
    """Write one reason as a sentence.

    The detail may hold braces: it is put in as it is, after the numbers.
    """
    text = reason.sentence.replace("{measured}", amount(measured, unit or reason.unit, units))
    text = text.replace("{limit}", amount(limit, unit or reason.unit, units))
    words = "" if detail is None or pd.isna(detail) else str(detail)
    return text.replace("{detail}", words).strip()


def lot_reasons(lot_ids: pd.Series[Any], reasons: pd.DataFrame, units: Units = "metric") -> pd.Series[Any]:
    """Write the reasons of each lot as one text, the heaviest first, one sentence after another.

    Parameters
    ----------
    lot_ids
        Ids of all lots, in order.
    reasons
        As ``fields.TABLES["reasons"]``.

    Returns
    -------
    pandas.Series
        Text for each lot, in the order given; empty text where there is no reason.
    """
    weight = {severity: number for number, severity in enumerate(SEVERITIES)}
    order = {code: number for number, code in enumerate(REASONS)}
    rows = pd.DataFrame(
        {
            "lot_id": reasons["lot_id"].to_numpy(),
            "weight": reasons["severity"].map(weight).to_numpy(),
            "order": reasons["code"].map(order).to_numpy(),
            "text": [
                sentence(
                    REASONS[row.code], row.measured, row.limit, "" if pd.isna(row.unit) else row.unit, row.detail, units
                )
                for row in reasons.itertuples()
            ],
        }
    ).sort_values(["lot_id", "weight", "order"], kind="stable")
    texts = rows.groupby("lot_id")["text"].agg(" ".join)
    return texts.reindex(lot_ids).fillna("").reset_index(drop=True)
