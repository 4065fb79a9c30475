"""Rain records from files: plain CSV with a unit, and the daily files of GHCN-Daily.

Missing stays missing and is counted; traces count as no rain; values that failed a quality check are left out.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd

from screening.area import Note
from screening.errors import BadInput, Fault
from screening.units import INCH_MM
from screening.water.ghcn_daily import is_by_year_line, read_by_year, read_dly

__all__ = ["RainRecord", "read_rain"]

DATE_NAMES: Final = ("date", "datetime", "date_time", "time", "timestamp", "time_hour", "start", "valid", "day")
DEPTH_NAMES: Final = ("depth", "prcp", "precip", "precipitation", "rain", "rainfall", "rain_depth")
STATION_NAMES: Final = ("station", "station_id", "id", "origin", "site")
UNIT_ENDINGS: Final = {"mm": 1.0, "in": INCH_MM, "inch": INCH_MM, "inches": INCH_MM, "cm": 10.0}
MISSING_TEXTS: Final = frozenset({"", "na", "nan", "n/a", "null", "none", "m", "-"})
STEPS_H: Final = {"day": 24.0, "hour": 1.0}
MOST_STEPS_A_DAY: Final = 1440
WETTEST_DAY_MM: Final = 2000.0
"""More in one day than has been measured anywhere (about 1.8 m; from memory): the unit must be wrong."""


@dataclass(frozen=True, eq=False)
class RainRecord:
    """A rain record on a regular step.

    Parameters
    ----------
    table
        ``start`` (timestamp without zone), ``step_h`` and ``depth_mm`` (NaN where missing), every step from first to
        last.
    notes
        What was assumed, left out or is missing.
    """

    table: pd.DataFrame
    notes: tuple[Note, ...]


def read_rain(
    paths: Sequence[str | Path],
    *,
    unit_mm: float | None = None,
    date: str | None = None,
    depth: str | None = None,
    step: str | None = None,
) -> RainRecord:
    """Read a rain record from one file or several.

    Parameters
    ----------
    paths
        ``.dly`` files, GHCN-Daily by-year CSV, or CSV with a header.
    unit_mm
        Millimetres in one unit of the depths. Needed for a CSV with a header whose depth column does not end in its
        unit (``_mm``, ``_in``); the others know theirs.
    date, depth
        Columns of a CSV with a header; found by their usual names when None.
    step
        ``hour`` or ``day``; found from the times when None.

    Raises
    ------
    BadInput
        With every fault found.
    """
    faults: list[Fault] = []
    parts = []
    for path in map(Path, paths):
        try:
            parts.append(_read_one(path, unit_mm, date, depth).assign(file=path.name))
        except BadInput as error:
            faults += error.faults
        except (OSError, ValueError) as error:
            faults.append(_fault(f"The rain record cannot be read: {error}", "Give a CSV or a .dly file", path.name))
    if not faults and not sum(len(part) for part in parts):
        faults.append(_fault("The rain record holds no value", "Give a record of precipitation"))
    if faults:
        raise BadInput(faults)
    values = pd.concat(parts, ignore_index=True)
    return _record(values, STEPS_H[step] if step else None)


def _fault(what: str, mend: str, file: str = "") -> Fault:
    return Fault(what, mend, file=file, layer="rainfall")


def _read_one(path: Path, unit_mm: float | None, date: str | None, depth: str | None) -> pd.DataFrame:
    """Values of one file: ``station``, ``start``, ``depth_mm``, ``trace``, ``failed``, ``zoned``."""
    if path.suffix.lower() == ".dly":
        return _tenths(read_dly(path))
    with path.open(encoding="utf-8", errors="replace") as file:
        first = file.readline()
    if is_by_year_line(first):
        return _tenths(read_by_year(path))
    table = pd.read_csv(path, dtype=str, keep_default_na=False, skipinitialspace=True, encoding="utf-8-sig")
    return _plain(table, path.name, unit_mm, date, depth)


def _tenths(table: pd.DataFrame) -> pd.DataFrame:
    depth = pd.to_numeric(table["text"], errors="coerce") / 10.0
    return table.drop(columns="text").assign(depth_mm=depth.mask(table["failed"]), zoned=False, month_first=False)


def _plain(table: pd.DataFrame, file: str, unit_mm: float | None, date: str | None, depth: str | None) -> pd.DataFrame:
    faults: list[Fault] = []
    depth_name = _column(table, depth, DEPTH_NAMES, "depth", file, faults)
    start, zoned, month_first = _times(table, date, file, faults)
    if depth_name:
        unit_mm = unit_mm or UNIT_ENDINGS.get(depth_name.lower().rsplit("_", 1)[-1])
        if unit_mm is None:
            faults.append(_fault(f"The unit of column {depth_name!r} is not said", 'Add unit = "mm" or "in"', file))
    if faults:
        raise BadInput(faults)
    text = table[str(depth_name)].str.strip()
    low = text.str.lower()
    failed, trace = _flags(table, str(depth_name))
    failed |= low.str.fullmatch(r"[\d.]+[a-z*]")
    trace |= low == "t"
    numbers = pd.to_numeric(low.mask(low == "t", "0").mask(failed, ""), errors="coerce")
    odd = numbers.isna() & ~low.isin(MISSING_TEXTS) & ~failed
    if odd.any():
        row = int(np.flatnonzero(odd)[0])
        what = f"{int(odd.sum())} values of column {depth_name!r} are no numbers, the first {text[row]!r}"
        raise BadInput([_fault(what, "leave missing values empty", f"{file}, row {row + 2}")])
    named = [name for name in table.columns if name.lower() in STATION_NAMES]
    return pd.DataFrame(
        {
            "station": table[named[0]] if named else "",
            "start": start,
            "trace": trace,
            "failed": failed,
            "depth_mm": numbers.where(numbers >= 0) * float(unit_mm or np.nan),
            "zoned": zoned,
            "month_first": month_first,
        }
    )


def _flags(table: pd.DataFrame, depth: str) -> tuple[pd.Series, pd.Series]:
    """Failed checks and traces, from a column of attributes (measurement, quality, source flags) beside the depth."""
    name = f"{depth}_ATTRIBUTES"
    if name not in table.columns:
        return pd.Series(False, index=table.index), pd.Series(False, index=table.index)
    flags = table[name].str.split(",", expand=True).reindex(columns=[0, 1]).fillna("")
    return flags[1].str.strip() != "", flags[0].str.strip() == "T"


def _column(
    table: pd.DataFrame, given: str | None, names: tuple[str, ...], what: str, file: str, faults: list[Fault]
) -> str | None:
    """The column given, or the first with a usual name (a unit at its end or not)."""
    if given is not None:
        if given in table.columns:
            return given
        faults.append(
            _fault(f"There is no column {given!r}", f"Columns are {', '.join(map(str, table.columns))}", file)
        )
        return None
    plain = {re.sub(rf"_({'|'.join(UNIT_ENDINGS)})$", "", str(name).strip().lower()): name for name in table.columns}
    found = [str(plain[name]) for name in names if name in plain]
    if not found:
        faults.append(_fault(f"No column looks like the {what}", f'Name it: {what} = "..."', file))
        return None
    return found[0]


def _times(table: pd.DataFrame, date: str | None, file: str, faults: list[Fault]) -> tuple[pd.Series, bool, bool]:
    """Start of each step, whether the file gives a time zone, and whether days were read as month/day/year."""
    low = {str(name).lower(): name for name in table.columns}
    if date is None and {"year", "month", "day"} <= set(low) and not any(name in low for name in DATE_NAMES[:-1]):
        parts = {name: table[low[name]] for name in ("year", "month", "day", "hour") if name in low}
        return _checked(pd.to_datetime(pd.DataFrame(parts), errors="coerce"), table, file, faults), False, False
    name = _column(table, date, DATE_NAMES, "date", file, faults)
    if name is None:
        return pd.Series(dtype="datetime64[us]"), False, False
    text = table[name].str.strip()
    month_first = bool(text.str.match(r"\d{1,2}/\d{1,2}/\d{4}").any())
    zoned = bool(text.str.contains(r"(?:Z|[+-]\d\d:?\d\d)$").any())
    start = pd.to_datetime(text, errors="coerce", utc=True, format="mixed").dt.tz_localize(None)
    return _checked(start, text.to_frame(), file, faults), zoned, month_first


def _checked(start: pd.Series, text: pd.DataFrame, file: str, faults: list[Fault]) -> pd.Series:
    wrong = np.flatnonzero(start.isna())
    if len(wrong):
        first = " ".join(str(value) for value in text.iloc[wrong[0]])[:40]
        what = f"{len(wrong)} dates cannot be read, the first {first!r}"
        faults.append(_fault(what, "write them as 2024-05-31 or 2024-05-31 14:00", f"{file}, row {wrong[0] + 2}"))
    return start


def _record(values: pd.DataFrame, step_h: float | None) -> RainRecord:
    stations = sorted(set(values["station"]))
    if len(stations) > 1:
        what = f"the rain record mixes {len(stations)} stations ({', '.join(stations[:3])})"
        raise BadInput([_fault(what, "give the file of one station")])
    notes = _value_notes(values)
    once = values.drop_duplicates(["start", "depth_mm"]).sort_values("start", kind="stable")
    if len(once) < len(values):
        notes.append(
            Note("repair", f"{len(values) - len(once)} repeated rows of the rain record were dropped", "rainfall")
        )
    doubled = once.loc[once["start"].duplicated(), "start"]
    if len(doubled):
        what = f"{len(doubled)} times of the rain record have two values, the first {doubled.iloc[0]}"
        raise BadInput([_fault(what, "give local standard time, without the change of clocks")])
    table = _regular(once, step_h)
    return RainRecord(table, tuple(notes + _table_notes(table)))


def _regular(values: pd.DataFrame, step_h: float | None) -> pd.DataFrame:
    """Every step from the first to the last, missing where the file has none."""
    hours = np.asarray((values["start"] - values["start"].iloc[0]) / pd.Timedelta(hours=1), dtype=np.float64)
    if step_h is None:
        steps, times = np.unique(np.diff(hours), return_counts=True)
        step_h = float(steps[times.argmax()]) if len(steps) else 24.0
    place = hours / step_h
    if step_h * MOST_STEPS_A_DAY < 24.0 or not np.isclose((24.0 / step_h) % 1.0, 0.0):
        what = f"the rain record's step, {step_h:g} hours, does not fit into a day"
        raise BadInput([_fault(what, 'say step = "hour" or "day"')])
    off = np.flatnonzero(np.abs(place - np.round(place)) > 1e-6)
    if len(off):
        first = values["start"].iloc[off[0]]
        what = f"{len(off)} times of the rain record lie off its step of {step_h:g} hours, the first {first}"
        raise BadInput([_fault(what, "give a record with one step")])
    depth = np.full(round(float(place[-1])) + 1, np.nan)
    depth[np.round(place).astype(np.int64)] = values["depth_mm"].to_numpy(dtype=np.float64)
    daily = np.nansum(depth) / max(len(depth) * step_h / 24.0, 1.0)
    if np.nanmax(depth, initial=0.0) * min(24.0 / step_h, 1.0) > WETTEST_DAY_MM or daily > WETTEST_DAY_MM / 50.0:
        what = f"the rain record holds {np.nanmax(depth):.0f} mm in one step and {365 * daily:.0f} mm a year"
        raise BadInput([_fault(what, "check the unit of the depths")])
    start = values["start"].iloc[0] + pd.to_timedelta(np.arange(len(depth)) * step_h, unit="h")
    return pd.DataFrame({"start": start, "step_h": step_h, "depth_mm": depth})


def _counted(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _value_notes(values: pd.DataFrame) -> list[Note]:
    notes = []
    traces, failed = int(values["trace"].sum()), int(values["failed"].sum())
    if traces:
        told = f"{_counted(traces, 'trace')} of rain {'counts' if traces == 1 else 'count'} as none."
        notes.append(Note("assumption", told, "rainfall"))
    if failed:
        told = (
            f"{_counted(failed, 'rain value')} failed a quality check and {'was' if failed == 1 else 'were'} left out."
        )
        notes.append(Note("missing", told, "rainfall"))
    if values["zoned"].any():
        notes.append(
            Note("assumption", "Times of the rain record are read as UTC, and its days are UTC days.", "rainfall")
        )
    if values["month_first"].any():
        notes.append(Note("assumption", "Dates such as 5/31/2024 are read month first.", "rainfall"))
    return notes


def _table_notes(table: pd.DataFrame) -> list[Note]:
    missing = table["depth_mm"].isna()
    if not missing.any():
        return []
    gaps = int((missing & ~missing.shift(fill_value=False)).sum())
    text = f"{int(missing.sum())} of {len(table)} steps of the rain record are missing, in {_counted(gaps, 'gap')}."
    return [Note("missing", text, "rainfall")]
