"""Read field results: a CSV, or layers of a GeoPackage, one row an event; every fault told at once."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from itertools import dropwhile
from pathlib import Path
from typing import Any, Final

import numpy as np
import pandas as pd
import pyogrio

from screening.inputs.cells import known_id
from screening.inputs.columns import as_flags, as_ids, as_text
from screening.inputs.field_checks import check_rows
from screening.inputs.field_columns import COLUMNS, CONSENTS, EVENTS, STATUSES, UNITS, FieldColumn
from screening.inputs.findings import Findings
from screening.inputs.known_keys import known_list
from screening.units import FOOT_M, INCH_M, INCH_MM

__all__ = ["read_field_files"]

LAYER: Final = "field"

_FACTORS: Final[dict[str, dict[str, float]]] = {
    "metric": {"length": 0.01, "area": 1.0, "rain": 1.0},
    "us": {"length": INCH_M, "area": FOOT_M**2, "rain": INCH_MM},
}
_CHOICES: Final[dict[str, tuple[str, ...]]] = {
    "what": tuple(EVENTS),
    "units": tuple(UNITS),
    "status": STATUSES,
    "consent_of": CONSENTS,
}
_NUMBERS: Final = ("length", "area", "rain", "hours", "share", "place")


@dataclass(frozen=True)
class _Place:
    """Coordinates of results, and how they become working metres."""

    unit_m: float
    crs: Any


def read_field_files(
    paths: Sequence[str | Path], lot_ids: Iterable[str], *, unit_m: float = 1.0, crs: Any = None
) -> pd.DataFrame:
    """Read field results.

    Parameters
    ----------
    paths
        CSV files, or files that OGR reads, each layer of which is taken.
    lot_ids
        Ids of all lots.
    unit_m
        Metres in one unit of the results' coordinates, for ``x`` and ``y``.
    crs
        Working CRS, for layers with points.

    Returns
    -------
    pandas.DataFrame
        ``lot_id``, ``what``, ``date``, ``x_m``, ``y_m`` and the other columns of ``field_columns``, lengths in metres,
        areas in m2, rain in mm; ``file`` and ``row``. In order of date, then as read.

    Raises
    ------
    BadInput
        With every fault of every file.
    """
    findings = Findings()
    lots = set(lot_ids)
    tables = [_read(Path(path), lots, _Place(unit_m, crs), findings) for path in paths]
    findings.raise_faults()
    filled = [table for table in tables if len(table)] or [_empty()]
    joined = pd.concat(filled, ignore_index=True)
    return joined.sort_values("date", kind="stable").reset_index(drop=True)


def _read(path: Path, lots: set[str], place: _Place, findings: Findings) -> pd.DataFrame:
    """One file, typed and checked."""
    raw = _csv(path, findings) if path.suffix.lower() in (".csv", ".txt") else _layers(path, place, findings)
    names = [column.name for column in COLUMNS]
    for name in raw.columns:
        if name not in (*names, "row", "point_x_m", "point_y_m"):
            findings.fault(f"Unknown column {name!r}", known_list(str(name), names), file=path.name, layer=LAYER)
    for name in ("lot", "what", "date"):
        if name not in raw.columns:
            findings.fault(f"No column {name!r}", "See the template", file=path.name, layer=LAYER)
            return _empty()
    table = _typed(raw, path.name, findings)
    table["lot_id"] = table["lot_id"].map(lambda cell: known_id(cell, lots), na_action="ignore")
    _known_lots(table, lots, path.name, findings)
    check_rows(table, path.name, findings)
    table["x_m"] = table.pop("x") * place.unit_m
    table["y_m"] = table.pop("y") * place.unit_m
    if "point_x_m" in raw.columns:
        for name in ("x_m", "y_m"):
            table[name] = table[name].where(table[name].notna(), raw[f"point_{name}"].to_numpy())
    return table.assign(file=path.name)


def _csv(path: Path, findings: Findings) -> pd.DataFrame:
    """Rows of a CSV as text; ``row`` is the line's number.

    Empty lines are left out, and lines that start with # (or, as a spreadsheet quotes them, "#) above the head: below
    it, # is how an id may begin.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        findings.fault(f"The file cannot be read: {error}", "Save it as UTF-8 CSV", file=path.name, layer=LAYER)
        return pd.DataFrame()
    filled = ((number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip())
    lines = list(dropwhile(lambda numbered: numbered[1].lstrip('"').startswith("#"), filled))
    if not lines:
        return pd.DataFrame(columns=[column.name for column in COLUMNS])
    separator = ";" if lines[0][1].count(";") > lines[0][1].count(",") else ","
    read = csv.reader(io.StringIO("\n".join(line for _, line in lines)), delimiter=separator)
    head, *rows = list(read)
    head = [name.strip() for name in head]
    for (number, _), row in zip(lines[1:], rows, strict=False):
        if len(row) > len(head) and any(row[len(head) :]):
            findings.fault("More values than columns", "Quote text with commas", **_where(path.name, number))
    kept = [(n, r) for (n, _), r in zip(lines[1:], rows, strict=False) if any(value.strip() for value in r)]
    columns: dict[str, Any] = {
        name: [(row[at] if at < len(row) and row[at].strip() else None) for _, row in kept]
        for at, name in enumerate(head)
        if name
    }
    return pd.DataFrame({**columns, "row": [number for number, _ in kept]}).astype(object)


def _layers(path: Path, place: _Place, findings: Findings) -> pd.DataFrame:
    """Rows of every layer; the points of those that have them in the working CRS."""
    try:
        tables = [pyogrio.read_dataframe(path, layer=name) for name, _ in pyogrio.list_layers(path)]
    except Exception as error:  # what OGR raises depends on the driver
        findings.fault(f"The file cannot be read: {error}", "", file=path.name, layer=LAYER)
        return pd.DataFrame()
    out = []
    for table in tables:
        plain = pd.DataFrame(table)
        if "geometry" in plain:
            shapes = table if table.crs is None or place.crs is None else table.to_crs(place.crs)
            points = shapes.geometry.representative_point()
            plain = plain.drop(columns="geometry").assign(point_x_m=points.x, point_y_m=points.y)
        out.append(plain.assign(row=np.arange(1, len(plain) + 1)).astype(object))
    return pd.concat(out, ignore_index=True) if out else pd.DataFrame()


def _typed(raw: pd.DataFrame, file: str, findings: Findings) -> pd.DataFrame:
    """Every column of ``COLUMNS`` with its type, numbers in SI."""
    rows = [int(number) for number in raw["row"]] if "row" in raw else list(range(1, len(raw) + 1))
    table: dict[str, Any] = {"row": rows}
    units = [str(value).strip().lower() if value is not None else "" for value in raw.get("units", [None] * len(raw))]
    for column in COLUMNS:
        values = raw[column.name] if column.name in raw else pd.Series([None] * len(raw), dtype=object)
        values = values.astype(object).where(values.notna(), None).reset_index(drop=True)
        if column.kind in _NUMBERS:
            table[column.name] = _numbers(column, values, units, rows, file, findings)
        else:
            table[column.name] = _words(column, values, rows, file, findings)
    out = pd.DataFrame(table).rename(columns={"lot": "lot_id"})
    return out


def _where(file: str, row: int) -> Mapping[str, str]:
    return {"file": file, "layer": LAYER, "feature": f"row {row}"}


def _words(column: FieldColumn, values: Any, rows: list[int], file: str, findings: Findings) -> Any:
    """Ids, choices, dates, flags and text."""
    if column.kind == "id":
        return as_ids(values).to_numpy(dtype=object)
    texts = as_text(values).astype(object).where(values.notna(), None)
    if column.kind == "choice":
        known = _CHOICES[column.name]
        lower = [text.lower() if isinstance(text, str) else None for text in texts]
        for word, row in zip(lower, rows, strict=True):
            if word is not None and word not in known:
                findings.fault(f"{column.name} is {word!r}", known_list(word, known), **_where(file, row))
        return np.array([word if word in known else None for word in lower], dtype=object)
    if column.kind == "date":
        return np.array([_date(t, file, r, findings) for t, r in zip(texts, rows, strict=True)], dtype=object)
    if column.kind == "flag":
        for value, row in zip(values, rows, strict=True):
            if as_flags(pd.Series([value]))[1]:
                findings.fault(f"{column.name} is {value!r}", "Write yes or no, or nothing", **_where(file, row))
        return as_flags(values)[0].to_numpy(dtype=object, na_value=None)
    return np.array([text if isinstance(text, str) else None for text in texts], dtype=object)


def _date(text: Any, file: str, row: int, findings: Findings) -> str | None:
    """A day as ISO text."""
    try:
        return date.fromisoformat(str(text)[:10]).isoformat() if isinstance(text, str) else None
    except ValueError:
        findings.fault(f"date is {text!r}", "Write it as 2026-05-31", **_where(file, row))
        return None


def _numbers(column: FieldColumn, values: Any, units: list[str], rows: list[int], file: str, findings: Findings) -> Any:
    """Numbers in SI, NaN where missing."""
    out = np.full(len(rows), np.nan)
    for at, (value, unit, row) in enumerate(zip(values, units, rows, strict=True)):
        if value is None or (isinstance(value, str) and not value.strip()):
            continue
        try:
            number = float(value)
        except (TypeError, ValueError):
            number = np.nan
        if not np.isfinite(number) or (number < 0 and column.kind != "place"):
            findings.fault(f"{column.name} is {value!r}", "Write a number from 0", **_where(file, row))
            continue
        if column.kind in ("length", "area", "rain"):
            if unit not in UNITS:
                findings.fault(f"{column.name} has no unit", "Write metric or us under units", **_where(file, row))
                continue
            number *= _FACTORS[unit][column.kind]
        out[at] = number
    return out


def _known_lots(table: pd.DataFrame, lots: set[str], file: str, findings: Findings) -> None:
    """Rows of lots that are not there."""
    known = sorted(lots)
    for lot, row in zip(table["lot_id"], table["row"], strict=True):
        if lot is None or pd.isna(lot):
            findings.fault("No lot", "Write the lot's id", **_where(file, row))
        elif lot not in lots:
            near = get_close_matches(lot, known, n=3, cutoff=0.5)
            mend = f"Did you mean {' or '.join(map(repr, near))}?" if near else "Write the id as the lots layer has it"
            findings.fault(f"No lot {lot!r} in the lots layer", mend, **_where(file, row))


def _empty() -> pd.DataFrame:
    names = {"lot": "lot_id", "x": "x_m", "y": "y_m"}
    return pd.DataFrame({names.get(c.name, c.name): pd.Series(dtype=object) for c in COLUMNS}).assign(file="", row=0)
