"""The season's report: how far households came, what was built, what it keeps out of the drain, what is due."""

from __future__ import annotations

import calendar
from collections.abc import Mapping
from datetime import date
from typing import Any, Final

import pandas as pd

__all__ = ["INSPECTIONS", "inspections_due", "last_day", "permit_table", "report_lines", "season_counts", "totals_by"]

INSPECTIONS: Final[tuple[tuple[str, int], ...]] = (("3 months", 3), ("year 1", 12), ("year 3", 36), ("year 5", 60))
"""Inspections after building, in months."""

EARLY_DAYS: Final = 30
"""An inspection made up to this long before its day counts for it."""

_STEPS: Final[dict[str, str]] = {
    "approached": "approached",
    "answered": "answered",
    "visited": "visited",
    "tested": "soil tested",
    "applied": "applied",
    "approved": "approved before digging",
    "built": "built",
    "inspected": "inspected",
    "paid": "paid",
}
"""Columns of the season's table, and what each step is called."""

_SUMS: Final = ("built_area_treated_m2", "built_storm_captured_m3", "built_storm_kept_m3", "built_year_captured_m3",
                "built_year_kept_m3")  # fmt: skip


def season_counts(season: pd.DataFrame, on: date) -> dict[str, int]:
    """How many lots came to each step by a day.

    Parameters
    ----------
    season
        The season's table.
    on
        The day; later events are not counted.
    """
    return {words: sum(bool(_by(value, on)) for value in season[name]) for name, words in _STEPS.items()}


def _by(value: Any, on: date) -> list[date]:
    """Days of a cell up to a day."""
    if value is None or pd.isna(value):
        return []
    days = [date.fromisoformat(text) for text in str(value).split()]
    return [day for day in days if day <= on]


def last_day(season: pd.DataFrame) -> date | None:
    """Last day of any field result that the table tells."""
    days = [day for name in _STEPS for value in season[name] for day in _by(value, date.max)]
    return max(days, default=None)


def months_after(day: date, months: int) -> date:
    """The same day some months on; the month's last day where it has no such day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def inspections_due(season: pd.DataFrame, on: date) -> pd.DataFrame:
    """Inspections that built gardens want.

    An inspection counts for the first time due that it follows, or comes at most ``EARLY_DAYS`` before, and that no
    earlier inspection served.

    Parameters
    ----------
    season
        The season's table.
    on
        The day that decides what is overdue.

    Returns
    -------
    pandas.DataFrame
        ``lot_id``, ``inspection``, ``due``, ``overdue``: of each garden built by that day the first not yet made, in
        order of the due day.
    """
    rows = []
    for lot, built, inspected in zip(season["lot_id"], season["built"], season["inspected"], strict=True):
        start = _by(built, on)
        if not start:
            continue
        made = [day for day in _by(inspected, on) if day > start[0]]
        for name, months in INSPECTIONS:
            due = months_after(start[0], months)
            serving = next((day for day in made if (due - day).days <= EARLY_DAYS), None)
            if serving is None:
                rows.append({"lot_id": lot, "inspection": name, "due": due.isoformat(), "overdue": due < on})
                break
            made = [day for day in made if day > serving]
    table = pd.DataFrame(rows, columns=["lot_id", "inspection", "due", "overdue"])
    return table.sort_values(["due", "lot_id"], kind="stable").reset_index(drop=True)


def _built(season: pd.DataFrame, on: date) -> pd.DataFrame:
    """Rows of gardens that stand by a day."""
    mask = [bool(_by(value, on)) for value in season["built"]]
    return season[pd.array(mask, dtype=bool)]


def totals_by(season: pd.DataFrame, lots: pd.DataFrame, by: str, on: date) -> pd.DataFrame:
    """Sum built gardens by street, zone or outfall.

    Parameters
    ----------
    season, lots
        Tables of the run.
    by
        ``street``, ``zone`` or ``outfall``.
    on
        The day.

    Returns
    -------
    pandas.DataFrame
        ``by``, ``gardens`` and the sums of the ``built_`` columns; what no garden knows is missing.
    """
    built = pd.DataFrame(_built(season, on)).drop(columns="geometry", errors="ignore")
    if by != "outfall":
        built = built.merge(pd.DataFrame(lots)[["lot_id", by]], on="lot_id", how="left")
    key = built[by].astype(object).where(built[by].notna(), f"({by} unknown)")
    rows = []
    for name in sorted(set(key)):
        mine = built[(key == name).to_numpy(dtype=bool)]
        rows.append({by: name, "gardens": len(mine), **{column: _sum(mine[column]) for column in _SUMS}})
    return pd.DataFrame(rows, columns=[by, "gardens", *_SUMS])


def _sum(values: Any) -> float | None:
    known = values.dropna()
    return float(known.sum()) if len(known) else None


def permit_table(season: Any, on: date) -> pd.DataFrame:
    """The table for the permit authority: every garden that stands by a day.

    Parameters
    ----------
    season
        The season's table with its points.
    on
        The day.
    """
    built = _built(season, on)
    points = built.geometry if "geometry" in built.columns else None
    degrees = points.to_crs(4326) if points is not None and len(built) and points.crs is not None else None
    return pd.DataFrame(
        {
            "lot_id": built["lot_id"].to_numpy(dtype=object),
            "longitude": [None] * len(built) if degrees is None else degrees.x.round(6).to_numpy(),
            "latitude": [None] * len(built) if degrees is None else degrees.y.round(6).to_numpy(),
            "practice": "rain garden",
            "ponding_area_m2": built["built_ponding_area_m2"].to_numpy(),
            "area_treated_m2": built["built_area_treated_m2"].to_numpy(),
            "ponding_depth_mm": built["built_ponding_depth_mm"].to_numpy(),
            "bed_depth_mm": built["built_bed_depth_mm"].to_numpy(),
            "depth_captured_mm": built["built_capture_depth_mm"].to_numpy(),
            "native_share": built["built_native_share"].to_numpy(),
            "approved": built["approved"].to_numpy(dtype=object),
            "built": built["built"].to_numpy(dtype=object),
            "inspected": built["inspected"].to_numpy(dtype=object),
            "receiving_water": built["outfall"].to_numpy(dtype=object),
            "receiving_water_known_by": built["outfall_basis"].to_numpy(dtype=object),
        }
    )


def report_lines(title: str, tables: Mapping[str, Any], on: date, storm_mm: float) -> list[str]:
    """One page of Markdown.

    Parameters
    ----------
    title
        Of the area.
    tables
        The run's ``lots`` and ``season``.
    on
        The day that the report stands for.
    storm_mm
        The storm that capture is told for.
    """
    season, lots = pd.DataFrame(tables["season"]), pd.DataFrame(tables["lots"])
    built = _built(season, on)
    lines = [
        f"# Season report: {title}",
        "",
        f"As of {on.isoformat()}. Built gardens count by their as-built figures.",
        "",
    ]
    counts = season_counts(season, on)
    lines += ["## How far households came", "", "| step | lots |", "|---|---|"]
    lines += [f"| {step} | {count} |" for step, count in counts.items()]
    off = int(season["contact_status"].isin(["refused", "not to be contacted"]).sum())
    lines += [f"| refused or not to be contacted | {off} |", "", "## What was built", ""]
    if not len(built):
        lines.append("Nothing yet.")
    else:
        sums = {column: _sum(built[column]) for column in _SUMS}
        noun = "garden drains" if len(built) == 1 else "gardens drain"
        lines += [
            f"{len(built)} {noun} {_shown(sums['built_area_treated_m2'], 'm2')} of roof and paving.",
            f"Storm of {storm_mm:g} mm: {_shown(sums['built_storm_captured_m3'], 'm3')} captured, "
            f"{_shown(sums['built_storm_kept_m3'], 'm3')} kept out of the drain.",
            f"Mean year: {_shown(sums['built_year_captured_m3'], 'm3')} captured, "
            f"{_shown(sums['built_year_kept_m3'], 'm3')} kept out of the drain.",
        ]
        unknown = [column for column in _SUMS[1:] if built[column].isna().any()]
        if unknown:
            lines.append("Some gardens lack a figure and are left out of that sum; see the table of built gardens.")
        for by in ("street", "zone", "outfall"):
            lines += _total_lines(by, totals_by(season, lots, by, on))
    return [*lines, *_due_lines(inspections_due(season, on), on)]


def _shown(value: float | None, unit: str) -> str:
    return "an unknown amount" if value is None or pd.isna(value) else f"{value:.1f} {unit}"


def _total_lines(by: str, table: pd.DataFrame) -> list[str]:
    head = f"| {by} | gardens | drained m2 | storm captured m3 | storm kept m3 | year captured m3 | year kept m3 |"
    lines = ["", f"By {by}:", "", head, "|---|---|---|---|---|---|---|"]
    for row in table.to_dict("records"):
        values = " | ".join("" if pd.isna(row[name]) else f"{row[name]:.1f}" for name in _SUMS)
        lines.append(f"| {_cell(row[by])} | {row['gardens']} | {values} |")
    return lines


def _cell(text: Any) -> str:
    """Text that does not break a table."""
    return str(text).replace("|", "/").replace("\n", " ")


def _due_lines(due: pd.DataFrame, on: date) -> list[str]:
    lines = ["", "## Inspections", ""]
    if not len(due):
        return [*lines, "None due."]
    lines += ["| lot | inspection | due | |", "|---|---|---|---|"]
    for row in due.to_dict("records"):
        late = "overdue" if row["overdue"] else "due today" if row["due"] == on.isoformat() else ""
        lines.append(f"| {_cell(row['lot_id'])} | {row['inspection']} | {row['due']} | {late} |")
    return lines
