"""The page's data: sections of whole numbers, gzipped together, and tables of columns that point into them."""

from __future__ import annotations

import base64
import gzip
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from screening.fields import Field
from screening.outputs.map.varints import varint_bytes, zigzag

__all__ = ["Pack", "column_numbers"]


@dataclass
class Pack:
    """Sections of whole numbers, each told by its number."""

    _sections: list[tuple[int, bytes]] = field(default_factory=list)

    def add(self, numbers: ArrayLike) -> int:
        """Add a section of whole numbers from 0 and return its number."""
        values = np.asarray(numbers)
        self._sections.append((int(values.size), varint_bytes(values)))
        return len(self._sections) - 1

    def directory(self) -> list[list[int]]:
        """Count of numbers and of bytes of each section, in order."""
        return [[count, len(data)] for count, data in self._sections]

    def base64(self) -> str:
        """All sections, gzipped without a date, as base64."""
        data = b"".join(data for _, data in self._sections)
        return base64.b64encode(gzip.compress(data, compresslevel=9, mtime=0)).decode("ascii")


def column_numbers(column: pd.Series[Any], described: Field) -> tuple[NDArray[np.uint64], list[str] | None]:
    """Turn a column into whole numbers; 0 is missing.

    Parameters
    ----------
    column
        Values as ``fields.conform`` leaves them.
    described
        The column's field; a number is told in its steps.

    Returns
    -------
    tuple
        The numbers, and for text the words that they count from 1.
    """
    missing = column.isna().to_numpy(dtype=bool)
    if described.dtype == "text":
        words = sorted({str(value) for value in column[~missing]})
        number = {word: at for at, word in enumerate(words, start=1)}
        out = np.array(
            [0 if gone else number[str(v)] for v, gone in zip(column, missing, strict=True)], dtype=np.uint64
        )
        return out, words
    if described.dtype == "flag":
        flags = column.astype("boolean").fillna(False).to_numpy(dtype=bool)
        return np.where(missing, 0, np.where(flags, 2, 1)).astype(np.uint64), None
    step = described.step or 1.0
    values = column.astype("Float64").to_numpy(dtype=np.float64, na_value=0.0)
    steps = np.floor(values / step + 0.5).astype(np.int64)
    return np.where(missing, np.uint64(0), zigzag(steps) + np.uint64(1)), None
