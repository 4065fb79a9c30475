"""Read a saved reply of the soil survey's tabular data service: one table of the survey as JSON.

The service answers a query with ``{"Table": [names, metadata, row, row, ...]}``; without the metadata rows follow the
names, and ``{}`` says that nothing matched. A reply does not say which table it is: its file's name does
(``muaggatt.json``). Nothing is asked over the network here.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

import pandas as pd

from screening.inputs.findings import Findings
from screening.inputs.survey_tables import TABLES, named_table

__all__ = ["REPLY_ROWS_MOST", "is_survey_reply", "read_survey_reply", "reply_rows"]

REPLY_ROWS_MOST: Final = 100_000
"""The service gives no more rows than this at once; a reply of so many was cut short."""

_METADATA: Final = "ColumnOrdinal="


def is_survey_reply(path: str) -> bool:
    """Whether a path names a saved reply rather than an export's folder."""
    return path.lower().endswith(".json")


def reply_rows(data: bytes) -> tuple[pd.DataFrame, list[str]]:
    """Rows of a reply as text, missing where empty, and its columns in lower case; no columns where nothing matched.

    Raises
    ------
    ValueError
        When it is not such a reply, with what is wrong.
    """
    said: Any = json.loads(data.decode("utf-8-sig"))
    if not isinstance(said, dict):
        raise ValueError("it is no JSON object")
    if "Table" not in said:
        if said:
            raise ValueError(f"it has no Table; it says: {', '.join(map(str, said))}")
        return pd.DataFrame(), []
    table = said["Table"]
    if not isinstance(table, list) or not table or not all(isinstance(row, list) for row in table):
        raise ValueError("its Table is no list of rows")
    names = [str(name).strip().lower() for name in table[0]]
    rows = table[1:]
    if rows and all(str(cell).startswith(_METADATA) for cell in rows[0]):
        rows = rows[1:]
    odd = next((number for number, row in enumerate(rows, start=1) if len(row) != len(names)), None)
    if odd is not None:
        raise ValueError(f"row {odd:,} has {len(rows[odd - 1])} values for {len(names)} columns")
    return pd.DataFrame([[_text(cell) for cell in row] for row in rows], columns=range(len(names))), names


def _text(cell: Any) -> str | None:
    """A cell as an export would write it."""
    if cell is None or str(cell).strip() == "":
        return None
    return str(cell)


def read_survey_reply(path: str, name: str, findings: Findings) -> dict[str, pd.DataFrame]:
    """Read one saved reply as the survey table that its file is named for.

    Parameters
    ----------
    path, name
        The file, and how to name it to people.
    findings
        Where faults and notes go.

    Returns
    -------
    dict
        The table by its standard name, as ``survey_tables.read_survey_tables`` gives it; empty after a fault.
    """
    table = Path(path).stem.lower()
    if table not in TABLES:
        findings.fault(
            f"A saved reply is named for its table, and {table!r} is none that is read",
            f"Name it one of: {', '.join(f'{one}.json' for one in TABLES)}",
            file=name,
            layer="soils",
        )
        return {}
    try:
        rows, names = reply_rows(Path(path).read_bytes())
    except (OSError, ValueError) as error:
        findings.fault(f"The reply cannot be read: {error}", "Save the reply again", file=name, layer="soils")
        return {}
    if not names:
        findings.note("caution", f"{name}: nothing in the survey matched the query.", "soils")
        return {}
    if len(rows) >= REPLY_ROWS_MOST:
        findings.note(
            "caution", f"{name}: {len(rows):,} rows are as many as the service gives at once; some may lack.", "soils"
        )
    found = named_table(table, rows, names, findings, name)
    return {} if found is None else {table: found}
