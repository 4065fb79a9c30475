"""Columns as people read them: heads with units, values in metric or US units."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.fields import Field
from screening.ranking.sentences import Units
from screening.units import FOOT_M, GALLON_M3, INCH_MM, SQUARE_FOOT_M2, UM_PER_S_MM_PER_H

__all__ = ["amount_text", "head", "in_reader_units", "reader_unit"]

_METRIC: Final[dict[str, tuple[str, float, int]]] = {
    "m": ("m", 1.0, 2),
    "m2": ("m²", 1.0, 1),
    "m3": ("m³", 1.0, 2),
    "mm": ("mm", 1.0, 0),
    "um/s": ("mm/h", 1.0 / UM_PER_S_MM_PER_H, 1),
    "mm/h": ("mm/h", 1.0, 1),
    "%": ("%", 1.0, 1),
    "h": ("h", 1.0, 0),
    "0 to 1": ("%", 0.01, 0),
    "of 10000": ("of 100", 100.0, 0),
}
_US: Final[dict[str, tuple[str, float, int]]] = {
    **_METRIC,
    "m": ("ft", FOOT_M, 1),
    "m2": ("sq ft", SQUARE_FOOT_M2, 0),
    "m3": ("gal", GALLON_M3, 0),
    "mm": ("in", INCH_MM, 1),
    "um/s": ("in/h", INCH_MM / UM_PER_S_MM_PER_H, 2),
    "mm/h": ("in/h", INCH_MM, 2),
}
"""Unit as read, amount of the field's unit in one of it, decimals."""

_SUFFIXES: Final = ("_m3", "_m2", "_mm", "_m", "_pct", "_deg", "_um_s")


def _unit(unit: str, units: Units) -> tuple[str, float, int]:
    return (_US if units == "us" else _METRIC).get(unit, (unit, 1.0, 0))


def reader_unit(unit: str, units: Units) -> tuple[str, float]:
    """The unit that amounts of a unit are read in, and how much of the unit makes one of it."""
    name, size, _ = _unit(unit, units)
    return name, size


def head(field: Field, units: Units) -> str:
    """A column's head: its name as words, with the unit that its values are told in."""
    name = field.name
    for suffix in _SUFFIXES:
        name = name.removesuffix(suffix)
    words = name.replace("_", " ").replace("hsg", "soil group").replace("ksat", "infiltration")
    unit, _, _ = _unit(field.unit, units)
    words = words[:1].upper() + words[1:]
    return f"{words} [{unit}]" if unit else words


def in_reader_units(column: pd.Series[Any], field: Field, units: Units) -> tuple[NDArray[np.float64], int]:
    """Values of a number column in the reader's units, NaN where missing, and the decimals to show."""
    _, size, decimals = _unit(field.unit, units)
    values = column.astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    return np.asarray(values / size), 0 if field.dtype == "integer" else decimals


def amount_text(value: Any, unit: str, units: Units, decimals: int | None = None) -> str:
    """A number with its unit; empty when missing."""
    if value is None or pd.isna(value):
        return ""
    name, size, places = _unit(unit, units)
    text = f"{float(value) / size:,.{places if decimals is None else decimals}f}"
    return f"{text}%" if name == "%" else f"{text} {name}".strip()
