"""Read the tabular part of a soil survey export: pipe-delimited text without a header line.

Column names come from the export's own ``mstabcol.txt``, file names from its ``mstab.txt``. Where these are missing,
the known file names and positions stand in; the positions of ``mapunit``, ``comp``, ``chorizon`` and ``muaggatt`` are
those that public loaders of the format agree on, the others were read in one export of the year 2019 or later.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping
from typing import Any, Final

import pandas as pd

from screening.inputs.findings import Findings

__all__ = ["KEYS", "TABLES", "named_table", "read_survey_tables"]

TABLES: Final[dict[str, str]] = {
    "legend": "legend.txt",
    "mapunit": "mapunit.txt",
    "component": "comp.txt",
    "chorizon": "chorizon.txt",
    "muaggatt": "muaggatt.txt",
    "corestrictions": "crstrcts.txt",
    "comonth": "cmonth.txt",
    "cosoilmoist": "csmoist.txt",
}
"""Tables that are read, and the usual name of the file of each."""

KEYS: Final[dict[str, str]] = {"mapunit": "mukey", "component": "cokey", "chorizon": "chkey", "muaggatt": "mukey"}
"""The column that is unique in each table."""

_POSITIONS: Final[dict[str, dict[int, str]]] = {
    "legend": {1: "areasymbol", -1: "lkey"},
    "mapunit": {0: "musym", 1: "muname", -2: "lkey", -1: "mukey"},
    "component": {
        1: "comppct_r",
        3: "compname",
        5: "majcompflag",
        9: "slope_r",
        23: "drainagecl",
        79: "hydgrp",
        -2: "mukey",
        -1: "cokey",
    },
    "chorizon": {6: "hzdept_r", 9: "hzdepb_r", 82: "ksat_r", -2: "cokey", -1: "chkey"},
    "muaggatt": {
        0: "musym",
        1: "muname",
        3: "slopegraddcp",
        5: "brockdepmin",
        6: "wtdepannmin",
        15: "drclassdcd",
        17: "hydgrpdcd",
        -1: "mukey",
    },
    "corestrictions": {0: "reskind", 1: "reshard", 3: "resdept_r", 6: "resdepb_r", -2: "cokey", -1: "corestrictkey"},
    "comonth": {0: "monthseq", 1: "month", -2: "cokey", -1: "comonthkey"},
    "cosoilmoist": {
        1: "soimoistdept_r",
        4: "soimoistdepb_r",
        6: "soimoiststat",
        -2: "comonthkey",
        -1: "cosoilmoistkey",
    },
}
_NEEDED: Final[dict[str, tuple[str, ...]]] = {
    "legend": (),
    "mapunit": ("muname", "mukey"),
    "component": ("comppct_r", "compname", "hydgrp", "mukey", "cokey"),
    "chorizon": ("hzdept_r", "hzdepb_r", "ksat_r", "cokey", "chkey"),
    "muaggatt": ("brockdepmin", "wtdepannmin", "hydgrpdcd", "mukey"),
    "corestrictions": ("reskind", "resdept_r", "cokey"),
    "comonth": ("cokey", "comonthkey"),
    "cosoilmoist": ("soimoistdept_r", "soimoiststat", "comonthkey"),
}
"""Columns without which a table is of no use."""
_NUMBERS: Final = frozenset({"brockdepmin", "wtdepannmin", "wtdepaprjunmin", "slopegraddcp", "monthseq"})
_RANGE_ENDS: Final = ("_l", "_r", "_h")


def read_survey_tables(
    open_text: Mapping[str, Callable[[], bytes]], findings: Findings, *, file: str
) -> dict[str, pd.DataFrame]:
    """Read the tables of one tabular folder that groups, depths and conductivity are found from.

    Parameters
    ----------
    open_text
        By lower-case file name, a function that returns the file's bytes.
    findings
        Where faults go.
    file
        The export, for these.

    Returns
    -------
    dict
        Tables by their standard names, standard lower-case columns; keys and words are text, depths, percentages and
        conductivities numbers. Tables without a file are not there.
    """
    names = _column_names(open_text)
    files = {**TABLES, **_file_names(open_text)}
    tables: dict[str, pd.DataFrame] = {}
    for table in TABLES:
        name = files[table].lower()
        if name not in open_text:
            continue
        try:
            rows = _rows(open_text[name]())
        except (pd.errors.ParserError, UnicodeError) as error:
            findings.fault(
                f"The survey table {name} cannot be read: {error}",
                "Unzip the export again",
                file=f"{file}/{name}",
                layer="soils",
            )
            continue
        named = named_table(table, rows, names.get(table), findings, f"{file}/{name}")
        if named is not None:
            tables[table] = named
    return tables


def _rows(data: bytes) -> pd.DataFrame:
    """Rows of a pipe-delimited file, all text, missing where empty."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
    if not text.strip():
        return pd.DataFrame()
    return pd.read_csv(
        io.StringIO(text), sep="|", quotechar='"', header=None, dtype=str, keep_default_na=False, na_values=[""]
    )


def _column_names(open_text: Mapping[str, Callable[[], bytes]]) -> dict[str, list[str]]:
    """Columns of each table in order, as ``mstabcol.txt`` has them."""
    if "mstabcol.txt" not in open_text:
        return {}
    rows = _rows(open_text["mstabcol.txt"]())
    if rows.shape[1] < 3:
        return {}
    rows = rows.assign(order=pd.to_numeric(rows[1], errors="coerce")).sort_values([0, "order"], kind="stable")
    return {str(table): [str(name).lower() for name in part[2]] for table, part in rows.groupby(0)}


def _file_names(open_text: Mapping[str, Callable[[], bytes]]) -> dict[str, str]:
    """File of each table, as ``mstab.txt`` has them."""
    if "mstab.txt" not in open_text:
        return {}
    rows = _rows(open_text["mstab.txt"]())
    if rows.shape[1] < 5:
        return {}
    return {str(table): f"{file}.txt" for table, file in zip(rows[0], rows[4], strict=True) if isinstance(file, str)}


def named_table(
    table: str, rows: pd.DataFrame, names: list[str] | None, findings: Findings, file: str
) -> pd.DataFrame | None:
    """Rows of a table, all text, with their column names, numbers made numbers; None after a fault.

    Parameters
    ----------
    table
        Its standard name.
    rows
        Its rows, missing where empty.
    names
        Its columns in order; the known positions stand in where None or of another number.
    findings, file
        Where faults go, and the file for these.
    """
    if rows.empty:
        return pd.DataFrame({column: pd.Series(dtype="str") for column in names or _POSITIONS[table].values()})
    width = rows.shape[1]
    if names is not None and len(names) == width:
        out = rows.set_axis(names, axis="columns")
    else:
        if names is not None:
            findings.note(
                "caution",
                f"{file}: {width} columns, mstabcol.txt names {len(names)}; the known positions are used.",
                "soils",
            )
        out = _by_position(table, rows)
    lacking = [column for column in _NEEDED[table] if column not in out.columns]
    if lacking:
        findings.fault(
            f"The survey table {table} lacks {', '.join(lacking)}",
            f"It has {width} columns; unzip the export again with its mstabcol.txt",
            file=file,
            layer="soils",
        )
        return None
    for column in out.columns:
        if column in _NUMBERS or column.endswith(_RANGE_ENDS):
            out[column] = pd.to_numeric(out[column], errors="coerce")
        else:
            out[column] = out[column].astype("str").str.strip()
    return out


def _by_position(table: str, rows: pd.DataFrame) -> pd.DataFrame:
    """The columns whose positions are known; keys are counted from the end, as columns are added before them."""
    width = rows.shape[1]
    columns: dict[str, Any] = {}
    for position, name in _POSITIONS[table].items():
        at = position if position >= 0 else width + position
        if 0 <= at < width:
            columns[name] = rows[at]
    return pd.DataFrame(columns)
