"""Daily precipitation in the two layouts of the Global Historical Climatology Network.

``.dly``: fixed columns, one station, element and month a line (id 1-11, year 12-15, month 16-17, element 18-21, then 31
times value 5, measurement flag 1, quality flag 1, source flag 1); by-year CSV without a header: id, yyyymmdd, element,
value, three flags, time. Precipitation is ``PRCP`` in tenths of a millimetre, missing is -9999, a quality flag that is
not blank means that a check failed, and the measurement flag T is a trace (NOAA, GHCN-Daily readme; the meaning of the
quality flag from memory).
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

import pandas as pd

__all__ = ["is_by_year_line", "read_by_year", "read_dly"]

_BY_YEAR = re.compile(r"^\w{11},\d{8},[A-Z]{4},")
_COLUMNS: Final = ("station", "start", "text", "trace", "failed")


def is_by_year_line(line: str) -> bool:
    """Whether the first line of a file is one of the by-year layout."""
    return bool(_BY_YEAR.match(line))


def read_dly(path: Path) -> pd.DataFrame:
    """Precipitation of a ``.dly`` file.

    Returns
    -------
    pandas.DataFrame
        ``station``, ``start`` (day), ``text`` (value in tenths of mm, empty where missing), ``trace`` and ``failed``
        (flags). Days that no month has are left out.
    """
    rows = []
    for line in path.read_text(encoding="ascii", errors="replace").splitlines():
        if line[17:21] == "PRCP":
            rows += _month(line)
    return pd.DataFrame(rows, columns=list(_COLUMNS))


def _month(line: str) -> list[tuple[str, pd.Timestamp, str, bool, bool]]:
    first = pd.Timestamp(int(line[11:15]), int(line[15:17]), 1)
    days = []
    for day in range(first.days_in_month):
        cell = line[21 + 8 * day : 29 + 8 * day].ljust(8)
        value = cell[:5].strip()
        text = "" if value in ("", "-9999") else value
        days.append((line[:11], first + pd.Timedelta(days=day), text, cell[5] == "T", cell[6] != " "))
    return days


def read_by_year(path: Path) -> pd.DataFrame:
    """Precipitation of a by-year CSV; columns as ``read_dly``."""
    names = ["station", "day", "element", "value", "measured", "quality", "source", "time"]
    table = pd.read_csv(path, header=None, names=names, dtype=str, keep_default_na=False)
    table = table[table["element"] == "PRCP"]
    return pd.DataFrame(
        {
            "station": table["station"],
            "start": pd.to_datetime(table["day"], format="%Y%m%d", errors="coerce"),
            "text": table["value"].where(table["value"] != "-9999", ""),
            "trace": table["measured"] == "T",
            "failed": table["quality"].str.strip() != "",
        }
    ).reset_index(drop=True)
