"""Read a run's tables and record back from its folder."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pyogrio

from screening.errors import BadInput, Fault
from screening.fields import TABLES, conform
from screening.lot_rules import OwnRules, rules_of
from screening.places import first_lots
from screening.rules import Rules

__all__ = ["RunFolder", "read_run"]


@dataclass(frozen=True, eq=False)
class RunFolder:
    """What a run left in its folder.

    Parameters
    ----------
    folder
        The folder.
    record
        ``run.json``.
    tables
        By name, as ``fields.TABLES`` declares them; geometries are in the output CRS, as the files have them.
    """

    folder: Path
    record: Mapping[str, Any]
    tables: Mapping[str, Any]

    @property
    def title(self) -> str:
        """The area's title."""
        return str(self.record.get("title", ""))

    @property
    def lots(self) -> Any:
        """The lots table, in order of ``lot_id``."""
        return self.tables["lots"]

    @property
    def places(self) -> Any:
        """The lots table with one row a place: without further lots of a stack."""
        return first_lots(self.tables["lots"])

    @property
    def rules(self) -> Rules:
        """The rules that the run used."""
        return Rules(**self.record["rules"])

    @property
    def own_rules(self) -> OwnRules:
        """Rules of single lots that differ from ``rules``."""
        own: OwnRules = self.record.get("rules_by_lot", {})
        return own

    def rules_of(self, lot_id: str) -> Rules:
        """The rules that one lot was judged by."""
        return rules_of(lot_id, self.rules, self.own_rules)


def read_run(folder: Path | str, only: Mapping[str, str | None] | None = None) -> RunFolder:
    """Read the tables of a run from its ``lots.gpkg``, and its record.

    Parameters
    ----------
    folder
        Where the run wrote its results.
    only
        Tables to read, ``lots`` among them, and which rows of each, as a condition of SQL (None for all); all of
        every table when not given.

    Raises
    ------
    BadInput
        When the folder holds no results of a run, or results that this version cannot read.
    """
    folder = Path(folder)
    record_path, tables_path = folder / "run.json", folder / "lots.gpkg"
    if not record_path.is_file() or not tables_path.is_file():
        raise BadInput([Fault("No results of a run here", "Name the folder that a run wrote into", file=str(folder))])
    record = json.loads(record_path.read_text(encoding="utf-8"))
    tables: dict[str, Any] = {}
    for name, _ in pyogrio.list_layers(tables_path):
        if name in TABLES and (only is None or name in only):
            tables[name] = _table(tables_path, str(name), None if only is None else only[name])
    if "lots" not in tables:
        raise BadInput([Fault("No lots in the results of a run", "Run it again", file=str(tables_path))])
    return RunFolder(folder, record, tables)


def _table(path: Path, name: str, rows: str | None) -> Any:
    """One table as declared."""
    table = pyogrio.read_dataframe(path, layer=name, where=rows)
    declared = {field.name for field in TABLES[name]}
    extra = sorted(set(table.columns) - declared)
    if extra:
        raise BadInput(
            [
                Fault(
                    f"Table {name} has columns that this version does not know: {', '.join(extra)}",
                    "Run it again with this version",
                    file=str(path),
                )
            ]
        )
    return conform(table, TABLES[name])
