"""The lists as one workbook: frozen heads with units, widths that fit, and no cell that a spreadsheet runs."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any, Final

import numpy as np
import pandas as pd
import xlsxwriter

from screening.fields import TABLES, Field
from screening.outputs.cautions import SHORT_CAUTION
from screening.outputs.csv_files import approach_list, columns_list, ruled_out_list, streets_list
from screening.outputs.reader_units import head, in_reader_units, reader_unit
from screening.ranking.sentences import Units, lot_reasons
from screening.result import Screening

__all__ = ["MOST_VISITS", "write_workbook"]

MOST_VISITS: Final = 2_000
"""Most visits in the workbook; nobody scrolls further, and ``approach.csv`` holds them all."""

_DATE: Final = datetime.datetime(2000, 1, 1)
"""Stands in for the time of writing, so that equal runs give equal bytes."""

_WIDTHS: Final = {
    "reasons": 70,
    "sentence": 70,
    "meaning": 70,
    "address": 28,
    "street": 24,
    "lot_id": 14,
    "verdict": 14,
}

_WRAPPED: Final = ("reasons", "sentence", "meaning")
_PAPER: Final = {"us": 1, "metric": 9}
"""US letter and A4, as workbooks number them."""

_OWN: Final = (
    Field("visit", "integer", "", 0, "outputs", "Number of the visit, street by street."),
    Field("failed", "integer", "", 0, "outputs", "1 is the limit that decided."),
)


def _fields(table: str) -> dict[str, Field]:
    return {field.name: field for field in (*_OWN, *TABLES[table])}


def _limits_in_units(rows: pd.DataFrame, units: Units) -> pd.DataFrame:
    """Measured values and limits, each in the unit of its own row as it is read."""
    read = [reader_unit("" if pd.isna(unit) else str(unit), units) for unit in rows["unit"]]
    size = np.array([size for _, size in read], dtype=np.float64)
    told = {name: (rows[name].astype("Float64") / size).round(2) for name in ("measured", "limit")}
    return rows.assign(**told, unit=[name for name, _ in read])


def _reasons_in_units(visits: pd.DataFrame, result: Screening, units: Units) -> pd.DataFrame:
    """Visits with their reasons told in the reader's units; the table's own are metric."""
    if units == "metric":
        return visits
    reasons = pd.DataFrame(result.tables["reasons"])
    told = lot_reasons(visits["lot_id"], reasons[reasons["lot_id"].isin(visits["lot_id"])], units)
    return visits.assign(reasons=told.to_numpy())


def _print_set_up(sheet: Any, heads: int, units: Units) -> None:
    """Wide pages of the reader's paper, all columns on each, the heads on top and the caution at the foot."""
    sheet.set_landscape()
    sheet.set_paper(_PAPER[units])
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(heads)
    sheet.set_footer(f"&L&8{SHORT_CAUTION}&R&8&A, &P / &N")


def _write_column(sheet: Any, top: int, place: int, values: Any, cell_format: Any) -> None:
    """One column from row ``top`` down; text as text whatever it begins with, missing left empty."""
    column = pd.Series(values)
    there = np.flatnonzero(column.notna().to_numpy(dtype=bool))
    known = column.iloc[there].tolist()
    if pd.api.types.is_bool_dtype(column.dtype):
        known = ["yes" if value else "no" for value in known]
    elif pd.api.types.is_numeric_dtype(column.dtype):
        for row, value in zip((there + top).tolist(), known, strict=True):
            sheet.write_number(row, place, value, cell_format)
        return
    for row, value in zip((there + top).tolist(), known, strict=True):
        sheet.write_string(row, place, str(value), cell_format)


def _write_sheet(
    book: Any, name: str, rows: pd.DataFrame, fields: dict[str, Field], units: Units, note: str = ""
) -> None:
    """One sheet: heads frozen and filterable, under a line that says what the sheet leaves out, if anything."""
    sheet = book.add_worksheet(name)
    heads = 1 if note else 0
    if note:
        sheet.write_string(0, 0, note, book.add_format({"italic": True}))
    bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    for place, column in enumerate(rows.columns):
        field = fields.get(column)
        values: Any = rows[column]
        wanted: dict[str, Any] = {"valign": "top", "text_wrap": column in _WRAPPED}
        if field is not None and field.dtype in ("number", "integer"):
            values, decimals = in_reader_units(rows[column], field, units)
            wanted["num_format"] = "#,##0." + "0" * decimals if decimals else "#,##0"
        title = column.replace("_", " ").capitalize() if field is None else head(field, units)
        sheet.write_string(heads, place, title, bold)
        sheet.set_column(place, place, _WIDTHS.get(column, 12))
        _write_column(sheet, heads + 1, place, values, book.add_format(wanted))
    sheet.freeze_panes(heads + 1, 0)
    sheet.set_row(heads, 48)
    _print_set_up(sheet, heads, units)
    if len(rows):
        sheet.autofilter(heads, 0, heads + len(rows), len(rows.columns) - 1)


def write_workbook(result: Screening, path: Path, units: Units = "metric") -> Path:
    """Write ``approach.xlsx``: the visits, the lots ruled out, the streets, and what every column means.

    Where there are more than ``MOST_VISITS`` visits, it holds the first of them, and says so above the heads.

    Parameters
    ----------
    result
        The result of a run.
    path
        Where to write.
    units
        Units of the numbers; the CSV files stay metric.
    """
    book = xlsxwriter.Workbook(str(path), {"strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"title": result.title[:250], "created": _DATE})
    lots = _fields("lots")
    limits = {name: field for name, field in lots.items() if name not in ("measured", "limit")}
    visits = approach_list(result)
    note = f"The first {MOST_VISITS:,} of {len(visits):,} visits; approach.csv holds all." * (len(visits) > MOST_VISITS)
    _write_sheet(book, "Approach", _reasons_in_units(visits.head(MOST_VISITS), result, units), lots, units, note)
    _write_sheet(book, "Ruled out", _limits_in_units(ruled_out_list(result, units), units), limits, units)
    _write_sheet(book, "Streets", streets_list(result), _fields("streets"), units)
    columns = columns_list()
    _write_sheet(book, "Columns", columns[columns["table"].isin(["lots", "streets", "reasons"])], {}, units)
    book.close()
    return path
