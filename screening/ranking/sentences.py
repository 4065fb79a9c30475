"""Reasons as sentences, in metric or US units. Numbers come with their unit; missing numbers say so."""

from __future__ import annotations

import math
import re
from typing import Any, Final, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.fields import REASONS, SEVERITIES, Reason, rows_of
from screening.units import FOOT_M, INCH_MM, SQUARE_FOOT_M2

__all__ = ["Units", "amount", "amounts_apart", "lot_reasons", "sentence", "sentences"]

Units = Literal["metric", "us"]

_US: Final[dict[str, tuple[str, float]]] = {
    "m": ("ft", FOOT_M),
    "m2": ("sq ft", SQUARE_FOOT_M2),
    "mm": ("in", INCH_MM),
    "mm/h": ("in/h", INCH_MM),
}
_AMOUNT: Final = re.compile("(-?[0-9]+(?:[.][0-9]+)?)\N{NO-BREAK SPACE}(m2|m)(?![0-9A-Za-z])")
_WRITTEN: Final = {"m2": "m²", "m3": "m³"}
_FINER: Final = 2
"""Decimals that a measured value may have more than is usual, to be told from its limit."""
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


def amount(value: float | None, unit: str, units: Units = "metric", *, finer: int = 0) -> str:
    """Write a number with its unit as people read it: 20 m, not 20.00 m.

    Parameters
    ----------
    value
        The number in ``unit``; None or NaN reads ``unknown``.
    unit
        SI unit of the fields: m, m2, mm, mm/h, %, h, share or none.
    units
        ``metric`` or ``us``.
    finer
        Decimals more than is usual.
    """
    if value is None or pd.isna(value) or not math.isfinite(value):
        return "unknown"
    if unit == "share":
        return f"{100 * value:.{finer}f}%"
    if units == "us" and unit in _US:
        unit, factor = _US[unit]
        value = value / factor
    text = f"{value:.{_DECIMALS.get(unit, 0) + finer}f}"
    if "." in text:
        text = text.rstrip("0").removesuffix(".") if float(text).is_integer() else text
    if unit == "%":
        return f"{text}%"
    return f"{text} {_WRITTEN.get(unit, unit)}".strip()


def amounts_apart(measured: Any, limit: Any, unit: str, units: Units = "metric") -> tuple[str, str]:
    """Write a measured value and its limit, with more decimals where the two differ and would read the same."""
    differ = not (pd.isna(measured) or pd.isna(limit)) and measured != limit
    texts = "", ""
    for finer in range(1 + differ * _FINER):
        texts = amount(measured, unit, units, finer=finer), amount(limit, unit, units, finer=finer)
        if texts[0] != texts[1]:
            break
    return texts


def sentence(reason: Reason, measured: Any, limit: Any, unit: str, detail: Any, units: Units = "metric") -> str:
    """Write one reason as a sentence.

    The detail may hold braces: it is put in as it is, after the numbers.
    """
    texts = amounts_apart(measured, limit, unit or reason.unit, units)
    text = reason.sentence.replace("{measured}", texts[0]).replace("{limit}", texts[1])
    words = "" if detail is None or pd.isna(detail) else _in_units(str(detail), units)
    return text.replace("{detail}", words).strip()


def _in_units(detail: str, units: Units) -> str:
    """A detail with its amounts (see ``units.in_detail``) as people read them."""
    if units == "us":
        return _AMOUNT.sub(lambda found: amount(float(found[1]), found[2], units), detail)
    return _AMOUNT.sub(lambda found: f"{found[1]} {_WRITTEN.get(found[2], found[2])}", detail)


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
    place = rows_of(lot_ids, reasons["lot_id"])
    order = rows_of(list(REASONS), reasons["code"])
    weight = rows_of(SEVERITIES, reasons["severity"])
    rows = np.lexsort((order, weight, place))
    rows = rows[place[rows] >= 0]
    texts = sentences(reasons, units)[rows].tolist()
    ends = np.cumsum(np.bincount(place[rows], minlength=len(lot_ids))).tolist()
    starts = [0, *ends[:-1]]
    joined = [" ".join(texts[start:end]) for start, end in zip(starts, ends, strict=True)]
    return pd.Series(joined, dtype="str", name="text")


def sentences(reasons: pd.DataFrame, units: Units = "metric") -> NDArray[Any]:
    """Write reasons as sentences, those that are alike once.

    Parameters
    ----------
    reasons
        As ``fields.TABLES["reasons"]``.

    Returns
    -------
    numpy.ndarray
        One sentence a row, object.
    """
    code, codes = pd.factorize(reasons["code"])
    said = [REASONS[name].sentence for name in codes]
    columns, distinct = [code], {}
    alike = code
    for name in ("measured", "limit", "unit", "detail"):
        heard = np.array(["{" + name + "}" in text or name == "unit" for text in said], dtype=bool)[code]
        number, known = pd.factorize(reasons[name])
        distinct[name] = [*known.tolist(), None]  # what is missing has the number -1
        columns.append(np.where(heard, number, -1))
        alike = pd.factorize(alike * len(distinct[name]) + columns[-1])[0]
    first = np.unique(alike, return_index=True)[1]
    texts = np.empty(len(first), dtype=object)
    for row, (of, *numbers) in enumerate(np.column_stack(columns)[first].tolist()):
        values = (told[n] for n, told in zip(numbers, distinct.values(), strict=True))
        measured, limit, unit, detail = values
        texts[row] = sentence(REASONS[codes[of]], measured, limit, unit or "", detail, units)
    return np.asarray(texts[alike])
