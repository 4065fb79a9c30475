"""Bring a layer's columns to one type each: text, flags, lengths in metres, fixed choices."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd

from screening.area import LAYER_COLUMNS
from screening.inputs.findings import Findings
from screening.inputs.layer_keys import CHOICES, FLAGS, ID_COLUMNS, LENGTHS

__all__ = ["as_flags", "as_ids", "as_lengths", "as_text", "typed_columns"]

_YES: Final = frozenset({"y", "yes", "true", "t", "1", "1.0", "x"})
_NO: Final = frozenset({"n", "no", "false", "f", "0", "0.0"})
_ZERO_IS_A_LENGTH: Final = frozenset({"clearance_m"})
_LARGEST_M: Final = {"trunk_m": 3.0, "crown_m": 25.0, "clearance_m": 100.0, "height_m": 150.0}
"""What few such things exceed, and many do whose unit was mistaken [m]."""


def _plain_text(value: Any) -> str | None:
    """A value as text: whole numbers without a point, nothing for a missing one."""
    if value is None or value is pd.NA or value is pd.NaT:
        return None
    if isinstance(value, float | np.floating):
        if np.isnan(value):
            return None
        number = float(value)
        return str(int(number)) if number.is_integer() else repr(number)
    return str(value)


def _texts(values: pd.Series[Any]) -> list[str | None]:
    """Values as text, None for the missing ones."""
    if values.isna().all():
        return [None] * len(values)
    return [value if type(value) is str else _plain_text(value) for value in values.to_numpy(dtype=object)]


def as_ids(values: pd.Series[Any]) -> pd.Series[Any]:
    """Ids as text, exactly as written: never stripped, never padded; missing where there is none."""
    texts = _texts(values)
    return pd.Series([text if text and text.strip() else None for text in texts], index=values.index, dtype="str")


def as_text(values: pd.Series[Any]) -> pd.Series[Any]:
    """Text without the blanks around it; missing where nothing is left."""
    texts = _texts(values)
    stripped = [text.strip() if text else None for text in texts]
    return pd.Series([text or None for text in stripped], index=values.index, dtype="str")


def as_flags(values: pd.Series[Any]) -> tuple[pd.Series[Any], Counter[str]]:
    """Yes, no or unknown; and the words that were not understood, with their counts."""
    out: list[bool | None] = []
    odd: Counter[str] = Counter()
    for text in _texts(values):
        word = text.strip().lower() if text else ""
        if word and word not in _YES | _NO:
            odd[word] += 1
        out.append(True if word in _YES else False if word in _NO else None)
    return pd.Series(pd.array(out, dtype="boolean"), index=values.index), odd


def as_lengths(values: pd.Series[Any], factor: float, *, zero_is_a_length: bool) -> tuple[pd.Series[Any], Counter[str]]:
    """Lengths in metres, and the values that are none.

    Parameters
    ----------
    values
        Numbers, or text that holds numbers.
    factor
        Metres in one unit of them.
    zero_is_a_length
        Whether 0 is a length; where not, it is missing, as a tree without a trunk is none.
    """
    numbers = pd.to_numeric(values, errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
    given = as_text(values).notna().to_numpy()
    bad = given & ~(np.isfinite(numbers) & (numbers >= 0))
    odd = Counter(str(value) for value in values[bad])
    none = bad | ~given | ((numbers == 0) & (not zero_is_a_length))
    lengths = pd.array(np.where(none, 0.0, numbers * factor), dtype="Float64")
    lengths[none] = pd.NA
    return pd.Series(lengths, index=values.index), odd


def _as_choice(
    values: pd.Series[Any], choices: tuple[str, ...], words: Mapping[str, str]
) -> tuple[pd.Series[Any], Counter[str]]:
    """One of a fixed choice of words, and the words that are none of them."""
    meant = {word.strip().lower(): choice for word, choice in words.items()}
    out: list[str | None] = []
    odd: Counter[str] = Counter()
    for text in as_text(values).to_numpy(dtype=object):
        word = text.lower() if isinstance(text, str) else ""
        choice = meant.get(word, word).strip().lower()
        if choice and choice not in choices:
            odd[word] += 1
        out.append(choice if choice in choices else None)
    return pd.Series(out, index=values.index, dtype="str"), odd


def _tell_odd(odd: Counter[str], layer: str, column: str, known: str, findings: Findings) -> None:
    """Tell of values that were not understood and count as missing."""
    if odd:
        shown = ", ".join(f"{word!r} ({count})" for word, count in sorted(odd.items())[:6])
        more = ", ..." if len(odd) > 6 else ""
        told = f"{column}: {shown}{more} not understood, taken as missing. Known: {known}."
        findings.note("caution", told, layer)


def _tell_large(lengths: pd.Series[Any], layer: str, column: str, findings: Findings) -> None:
    """Tell of lengths larger than such things are, as they come out in a wrong unit."""
    most_m = _LARGEST_M[column]
    large = lengths[(lengths > most_m).fillna(False).to_numpy(dtype=bool)]
    if len(large):
        unit = f"{column.removesuffix('_m')}_unit"
        told = f"{column}: {len(large):,} of {len(lengths):,} are over {most_m:g} m, the largest {large.max():g} m"
        findings.note("caution", f"{told}: check the unit, which {unit} in [{layer}] tells.", layer)


def typed_columns(
    frame: gpd.GeoDataFrame,
    layer: str,
    findings: Findings,
    *,
    factors: Mapping[str, float] | None = None,
    words: Mapping[str, Mapping[str, str]] | None = None,
) -> gpd.GeoDataFrame:
    """A layer with every column of ``LAYER_COLUMNS``, typed; columns it lacks are there, all missing.

    Parameters
    ----------
    frame
        Our column names, values as they came.
    layer
        The layer's name.
    findings
        Where values that were not understood are told.
    factors
        Metres in one unit of each length column; 1 where not given.
    words
        For columns with a fixed choice, the file's words and what they mean.
    """
    factors, words = factors or {}, words or {}
    columns: dict[str, Any] = {}
    for column in LAYER_COLUMNS[layer]:
        values = frame[column] if column in frame.columns else pd.Series(None, index=frame.index, dtype=object)
        odd: Counter[str] = Counter()
        known = ""
        if column == ID_COLUMNS.get(layer):
            columns[column] = as_ids(values)
        elif column in FLAGS:
            columns[column], odd = as_flags(values)
            known = "Y, N, yes, no, true, false, 1, 0"
        elif column in LENGTHS:
            zero = column in _ZERO_IS_A_LENGTH
            columns[column], odd = as_lengths(values, factors.get(column, 1.0), zero_is_a_length=zero)
            known = "numbers from 0"
            _tell_large(columns[column], layer, column, findings)
        elif (layer, column) in CHOICES:
            choices = CHOICES[layer, column]
            columns[column], odd = _as_choice(values, choices, words.get(column, {}))
            known = f"{', '.join(choices)}; the file's own words can be given as {column}_values"
        else:
            columns[column] = as_text(values)
        _tell_odd(odd, layer, column, known, findings)
    return gpd.GeoDataFrame(columns, geometry=frame.geometry.array, crs=frame.crs)
