"""Columns of tables as the whole numbers that pages hold: made once for an area, and taken from for each page."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.fields import Field, rows_of
from screening.outputs.map.pack import Pack, column_numbers
from screening.outputs.map.varints import unzigzag, zigzag

__all__ = ["Column", "Columns", "columns_of"]


_LESS: Final = {"lip_m": "ground_m", "lip_low_m": "lip_m"}
"""Columns that are told by what they have more than another."""


@dataclass(frozen=True)
class Column:
    """One column.

    Parameters
    ----------
    described
        Its field; None for the number of each row's lot, from 1.
    numbers
        Whole numbers, 0 where missing, shape (n,).
    words
        For text, the words that the numbers count from 1, in order.
    less
        Column of the same table whose values, told in the same steps, are taken from this one's: small numbers are
        left of two heights. None for a column that is told by itself.
    """

    described: Field | None
    numbers: NDArray[Any]
    words: list[str] | None = None
    less: str | None = None

    def of(self, rows: NDArray[np.int64]) -> Column:
        """The column of some rows, its words those that occur in them."""
        numbers = self.numbers[rows]
        if self.words is None:
            return replace(self, numbers=numbers)
        occurs = np.zeros(len(self.words) + 1, dtype=bool)
        occurs[numbers] = True
        occurs[0] = False
        words = [self.words[number] for number in np.flatnonzero(occurs[1:])]
        return replace(self, numbers=np.cumsum(occurs)[numbers], words=words)

    def add_to(self, pack: Pack) -> dict[str, Any]:
        """Add the column to a pack; what the page is told of it."""
        field = self.described
        if field is None:
            return {"name": "lot", "dtype": "lot", "section": pack.add(self.numbers)}
        told: dict[str, Any] = {
            "name": field.name, "dtype": field.dtype, "unit": field.unit, "step": field.step, "meaning": field.meaning,
            "section": pack.add(self.numbers),
        }  # fmt: skip
        if self.less is not None:
            told["less"] = self.less
        if self.words is not None:
            told["words"] = pack.add_words(self.words)
        return told


@dataclass(frozen=True)
class Columns:
    """The columns of a table of ``rows`` rows."""

    rows: int
    columns: tuple[Column, ...]

    @property
    def lots(self) -> NDArray[np.int64] | None:
        """Number of each row's lot from 0, -1 where it has none; None for a table that tells of no lots."""
        found = [column.numbers for column in self.columns if column.described is None]
        return found[0].astype(np.int64) - 1 if found else None

    def of(self, rows: NDArray[np.int64], lots: NDArray[np.int64]) -> Columns:
        """Some rows.

        Parameters
        ----------
        rows
            Their numbers.
        lots
            New number of each lot, from 0; none of the rows is of a lot that gets none.
        """
        some = [column.of(rows) for column in self.columns]
        some = [replace(one, numbers=lots[one.numbers - 1] + 1) if one.described is None else one for one in some]
        return Columns(len(rows), tuple(some))

    def only(self, names: Container[str]) -> Columns:
        """The columns of some names, and the lot's number."""
        kept = (column for column in self.columns if not column.described or column.described.name in names)
        return Columns(self.rows, tuple(kept))

    def add_to(self, pack: Pack) -> dict[str, Any]:
        """Add the table to a pack; what the page is told of it."""
        return {"rows": self.rows, "columns": [column.add_to(pack) for column in self.columns]}


def _beside(column: Column, other: Column) -> Column:
    """A column told by what it has more than another; as it was where one of the two misses a value."""
    if column.described is None or other.described is None or column.described.step != other.described.step:
        return column
    if not (column.numbers.all() and other.numbers.all()):
        return column
    steps, others = (unzigzag(one.numbers - 1) for one in (column, other))
    numbers = zigzag(steps - others) + np.uint64(1)
    return replace(column, numbers=numbers.astype(np.uint32), less=other.described.name)


def columns_of(table: Any, fields: tuple[Field, ...], lots: pd.Series[Any] | None = None) -> Columns:
    """A table's columns, those of ``fields`` that it has.

    Parameters
    ----------
    table
        A table as ``fields.conform`` leaves it.
    fields
        Its fields; geometries are left out.
    lots
        Ids of all lots: in place of its lot's id a row gets the lot's number. None for the table of lots itself.
    """
    columns = []
    for field in fields:
        if field.dtype == "geometry" or field.name not in table.columns:
            continue
        if field.name == "lot_id" and lots is not None:
            columns.append(Column(None, (rows_of(lots, table["lot_id"]) + 1).astype(np.uint32)))
            continue
        numbers, words = column_numbers(table[field.name], field)
        narrow = numbers.astype(np.uint32) if not numbers.size or numbers.max() < 2**32 else numbers
        columns.append(Column(field, narrow, words))
    named = {column.described.name: column for column in columns if column.described}
    beside = {name: _beside(named[name], named[less]) for name, less in _LESS.items() if {name, less} <= set(named)}
    return Columns(len(table), tuple(beside.get(one.described.name, one) if one.described else one for one in columns))
