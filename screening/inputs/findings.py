"""What reading turns up on the way: faults, notes and problems, gathered so that all are told at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import geopandas as gpd
from pyproj import CRS

from screening.area import Note
from screening.errors import BadInput, Fault
from screening.fields import conform
from screening.fields.summary_tables import PROBLEMS

__all__ = ["Findings"]


@dataclass
class Findings:
    """Faults, notes and problems of one reading."""

    faults: list[Fault] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    problems: list[dict[str, Any]] = field(default_factory=list)

    def fault(self, what: str, mend: str = "", *, file: str = "", layer: str = "", feature: str = "") -> None:
        """Keep one fault; a full stop at the end of a sentence is left to ``Fault``."""
        self.faults.append(Fault(what.rstrip(". "), mend.rstrip(". "), file, layer, feature))

    def note(self, kind: str, text: str, layer: str = "") -> None:
        """Keep one note: ``assumption``, ``missing``, ``caution`` or ``repair``."""
        self.notes.append(Note(kind, text, layer))

    def problem(
        self,
        layer: str,
        feature: str,
        problem: str,
        done: str,
        geometry: Any = None,
        *,
        before_m2: float | None = None,
        after_m2: float | None = None,
    ) -> None:
        """Keep one row of the problems table."""
        self.problems.append(
            {
                "layer": layer,
                "feature": feature,
                "problem": problem,
                "done": done,
                "area_before_m2": before_m2,
                "area_after_m2": after_m2,
                "geometry": geometry,
            }
        )

    def problem_table(self, crs: CRS | None) -> gpd.GeoDataFrame:
        """The problems as ``fields.PROBLEMS`` declares them."""
        names = [column.name for column in PROBLEMS]
        rows: Sequence[dict[str, Any]] = self.problems
        columns = {name: [row[name] for row in rows] for name in names}
        table = gpd.GeoDataFrame(columns, geometry="geometry", crs=crs)
        return conform(table, PROBLEMS)

    def raise_faults(self) -> None:
        """Raise ``BadInput`` with every fault, when there is any."""
        if self.faults:
            raise BadInput(dict.fromkeys(self.faults))
