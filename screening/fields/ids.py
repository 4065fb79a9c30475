"""Ids, as every table has them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute
from numpy.typing import NDArray

__all__ = ["rows_of"]


def rows_of(known: Any, wanted: Any) -> NDArray[np.int64]:
    """Row of each wanted word among known ones, told apart, -1 where it is not there or missing.

    Columns of text lie in Arrow, where this takes a tenth of the time that an index of pandas takes.

    Parameters
    ----------
    known, wanted
        Words as a column or a list; no known one twice.
    """
    places = pa.compute.index_in(_words(wanted), value_set=_words(known), skip_nulls=True)
    return np.asarray(places.fill_null(-1), dtype=np.int64)


def _words(column: Any) -> pa.Array | pa.ChunkedArray:
    """A column of words in Arrow."""
    return pa.array(pd.array(column, dtype="str"))
