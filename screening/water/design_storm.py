"""Depth of the storm that capture is told for: a percentile of the record, or a precipitation-frequency table."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from screening.errors import BadInput, Fault
from screening.fields import round_half_up
from screening.units import INCH_MM

__all__ = [
    "LONG_YEARS",
    "daily_depths_mm",
    "frequency_depth_mm",
    "percentile_storm_mm",
    "read_frequency_table",
    "record_storm_mm",
]

SMALL_EVENT_MM: Final = 0.1 * INCH_MM
"""Days with no more rain than this are left out before ranking."""
LEAST_YEARS: Final = 5
"""Years of whole days that a percentile needs, as the mean year does."""
LONG_YEARS: Final = 20
"""Years from which the guidance holds a record long enough (20 to 30 or more)."""
_ROUNDING_MM: Final = 1e-6
_HOURS: Final = {"min": 1.0 / 60.0, "hr": 1.0, "day": 24.0}


def percentile_storm_mm(daily_mm: ArrayLike, percentile: float = 95.0) -> float:
    """Depth that a share of the record's rain days does not exceed.

    The federal method (EPA 841-B-09-001, December 2009, for section 438 of the Energy Independence and Security Act):
    days with more than 0.1 inch of rain are ranked (the cut from memory), the percentile taken between neighbours in
    proportion.

    Parameters
    ----------
    daily_mm
        Rain of each day, NaN where missing. [mm]
    percentile
        0 to 100.

    Raises
    ------
    ValueError
        When no day has more than 0.1 inch.
    """
    depths = np.asarray(daily_mm, dtype=np.float64)
    events = depths[depths > SMALL_EVENT_MM + _ROUNDING_MM]
    if not len(events):
        raise ValueError("no day of the record has more than 0.1 inch of rain")
    return float(np.percentile(events, percentile))


def record_storm_mm(record: pd.DataFrame, percentile: float) -> tuple[float, int, float]:
    """Percentile storm of a rain record, and what it rests on.

    Parameters
    ----------
    record
        ``start``, ``step_h``, ``depth_mm``; NaN where missing.
    percentile
        0 to 100.

    Returns
    -------
    depth_mm
        The depth, to 0.1 mm. [mm]
    events
        Days that were ranked.
    years
        Years of days without a gap.

    Raises
    ------
    BadInput
        When the record has fewer than ``LEAST_YEARS`` years of whole days, or no day with enough rain.
    """
    depths = daily_depths_mm(record).to_numpy(dtype=np.float64)
    years = float(np.isfinite(depths).sum() / 365.25)
    if years < LEAST_YEARS:
        what = f"the rain record has {years:.1f} years of whole days; a percentile of it needs {LEAST_YEARS}"
        raise BadInput([Fault(what, "give a longer record, or the depth in [rules]", layer="rainfall")])
    try:
        depth = percentile_storm_mm(depths, percentile)
    except ValueError as error:
        raise BadInput([Fault(str(error), "check the unit of the record", layer="rainfall")]) from error
    events = int((depths > SMALL_EVENT_MM + _ROUNDING_MM).sum())
    return float(round_half_up(np.array([depth]), 0.1)[0]), events, years


def daily_depths_mm(record: pd.DataFrame) -> pd.Series:
    """Rain by day of a record (``start``, ``step_h``, ``depth_mm``); NaN where any step of the day is missing [mm]."""
    days = pd.DatetimeIndex(record["start"]).normalize()
    return record.groupby(days)["depth_mm"].agg(lambda depths: depths.sum(skipna=False)).rename("depth_mm")


def read_frequency_table(path: str | Path) -> pd.DataFrame:
    """Depths of a point precipitation-frequency CSV as the national weather service gives it out.

    Returns
    -------
    pandas.DataFrame
        Depths, index ``duration_h``, columns the average recurrence interval in years; the bounds of the confidence
        interval that may follow are not read. [mm]

    Raises
    ------
    BadInput
        When the table is not in the file, as for places it does not cover.
    """
    file = Path(path)
    lines = file.read_text(encoding="utf-8-sig", errors="replace").splitlines()
    head = next((number for number, line in enumerate(lines) if line.startswith("by duration for ARI (years)")), None)
    first = lines[0] if lines else ""
    unit = INCH_MM if "(inches)" in first else 1.0 if "(millimeters)" in first else None
    if head is None or unit is None:
        what = "no table of precipitation frequency estimates with its unit in this file"
        raise BadInput([Fault(what, "give the CSV for a place that is covered", file=file.name, layer="rainfall")])
    years = [int(text) for text in _cells(lines[head])]
    rows = {}
    for number, line in enumerate(lines[head + 1 :], start=head + 2):
        found = re.match(r"(\d+)-(min|hr|day):", line)
        if not found:
            break
        depths = pd.to_numeric(pd.Series(_cells(line), dtype=object), errors="coerce").to_numpy(dtype=np.float64)
        if len(depths) != len(years) or np.isnan(depths).any():
            what = f"this row has not {len(years)} depths, one for each recurrence interval"
            raise BadInput(
                [Fault(what, "download the table anew", file=f"{file.name}, row {number}", layer="rainfall")]
            )
        rows[int(found[1]) * _HOURS[found[2]]] = (depths * unit).tolist()
    table = pd.DataFrame.from_dict(rows, orient="index", columns=pd.Index(years, name="years"))
    return table.rename_axis("duration_h").sort_index()


def _cells(line: str) -> list[str]:
    """Cells of a line after its first colon."""
    return [text.strip() for text in line.split(":", 1)[1].split(",") if text.strip()]


def frequency_depth_mm(table: pd.DataFrame, years: int, duration_h: float = 24.0) -> float:
    """Depth of one duration and recurrence interval [mm].

    Raises
    ------
    ValueError
        When the table has no such row or column.
    """
    if not len(table):
        raise ValueError("the table has no duration at all")
    nearest = table.index[np.argmin(np.abs(table.index.to_numpy() - duration_h))]
    if abs(nearest - duration_h) > 1e-6 * duration_h or years not in table.columns:
        have = ", ".join(str(column) for column in table.columns)
        raise ValueError(f"no depth for {duration_h:g} h and {years} years: the table has {have} years")
    return float(table.loc[nearest, years])
