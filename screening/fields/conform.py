"""Put a table into its declared shape: columns, order, types, rounding."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from screening.fields.field import Field

__all__ = ["conform", "round_half_up"]

_PANDAS_TYPES = {"text": "str", "integer": "Int64", "number": "Float64", "flag": "boolean"}


def round_half_up(values: ArrayLike, step: float) -> NDArray[np.float64]:
    """Round to the nearest multiple of a step, halves up, through whole numbers.

    Parameters
    ----------
    values
        Numbers, any shape; NaN stays NaN.
    step
        The step; 0 leaves the values as they are.

    Returns
    -------
    numpy.ndarray
        The rounded numbers, float64, each the float nearest to a whole number of steps.
    """
    numbers = np.asarray(values, dtype=np.float64)
    if step == 0:
        return numbers
    per_unit = round(1.0 / step) if step < 1 else 0
    if per_unit:
        return np.asarray(np.floor(numbers * per_unit + 0.5) / per_unit)
    return np.asarray(np.floor(numbers / step + 0.5) * step)


def conform(table: Any, fields: Sequence[Field]) -> Any:
    """Return the table with exactly its declared columns, in order, typed and rounded.

    Parameters
    ----------
    table
        A DataFrame or GeoDataFrame. Columns it lacks come out missing (NA); columns not declared are an error.
    fields
        The declared columns.

    Raises
    ------
    ValueError
        When the table has a column that is not declared.
    """
    names = [field.name for field in fields]
    extra = [str(name) for name in table.columns if name not in names]
    if extra:
        raise ValueError(f"columns not declared in fields: {', '.join(extra)}")
    columns: dict[str, Any] = {}
    for field in fields:
        given = table[field.name] if field.name in table.columns else None
        if field.dtype == "geometry":
            if given is not None:
                columns[field.name] = given.array
        elif given is None:
            columns[field.name] = pd.array([pd.NA], dtype=_PANDAS_TYPES[field.dtype]).repeat(len(table))
        elif field.dtype == "number":
            columns[field.name] = _numbers(given, field.step)
        else:
            columns[field.name] = given.astype(_PANDAS_TYPES[field.dtype]).array
    # as many rows as the table, also where it declares no column; of the table's own kind, with its CRS
    return type(table)(columns, index=pd.RangeIndex(len(table)))


def _numbers(given: Any, step: float) -> Any:
    """Rounded numbers, missing where not finite."""
    values = given.to_numpy() if given.dtype == np.float64 else None
    if values is None:
        values = pd.to_numeric(given).astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    rounded = round_half_up(values, step)
    unknown = ~np.isfinite(rounded)
    return pd.arrays.FloatingArray(np.where(unknown, 0.0, rounded), unknown)
