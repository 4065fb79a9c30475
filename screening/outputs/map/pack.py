"""The page's data: sections of whole numbers and one of words, gzipped together."""

from __future__ import annotations

import base64
import gzip
import json
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from screening.fields import Field
from screening.outputs.map.varints import varint_bytes, zigzag

__all__ = ["Pack", "column_numbers"]

_LEVEL: Final = 2
"""Of gzip: 4 takes half as long again and makes a page smaller by 5 %, 9 many times as long for another 5 %."""


@dataclass
class Pack:
    """Sections of whole numbers and lists of words, each told by its number."""

    _sections: list[tuple[int, bytes]] = field(default_factory=list)
    _words: list[list[str]] = field(default_factory=list)

    def add_words(self, words: list[str]) -> int:
        """Add the words of a column and return their number."""
        self._words.append(words)
        return len(self._words) - 1

    def add(self, numbers: ArrayLike) -> int:
        """Add a section of whole numbers from 0 and return its number."""
        values = np.asarray(numbers)
        self._sections.append((int(values.size), varint_bytes(values)))
        return len(self._sections) - 1

    def directory(self) -> list[list[int]]:
        """Count of numbers and of bytes of each section, in order."""
        return [[count, len(data)] for count, data in self._sections]

    def base64(self) -> str:
        """All sections and then the words as JSON, gzipped without a date, as base64."""
        words = json.dumps(self._words, ensure_ascii=False, separators=(",", ":")).encode("utf-8")
        data = b"".join([*(data for _, data in self._sections), words])
        return base64.b64encode(gzip.compress(data, compresslevel=_LEVEL, mtime=0)).decode("ascii")


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
    if described.dtype == "text":
        codes, words = pd.factorize(column.astype("str"), sort=True)
        return (codes + 1).astype(np.uint64), pd.Index(words).to_numpy(dtype=object).tolist()
    missing = column.isna().to_numpy(dtype=bool)
    if described.dtype == "flag":
        flags = column.astype("boolean").fillna(False).to_numpy(dtype=bool)
        return np.where(missing, 0, np.where(flags, 2, 1)).astype(np.uint64), None
    step = described.step or 1.0
    values = column.astype("Float64").to_numpy(dtype=np.float64, na_value=0.0)
    steps = np.floor(values / step + 0.5).astype(np.int64)
    return np.where(missing, np.uint64(0), zigzag(steps) + np.uint64(1)), None
