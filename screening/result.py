"""``Screening``: everything a run found, in tables and rasters, for outputs and for Python users."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final, Protocol

from pyproj import CRS

from screening.area import Note
from screening.background import Background
from screening.lot_rules import OwnRules, rules_of
from screening.places import first_lots
from screening.rules import Rules
from screening.sources import RasterSource

__all__ = ["RANKED", "Screening", "Watcher"]

RANKED: Final = frozenset({"lots", "reasons", "streets", "curves", "inlet_totals", "season", "problems"})
"""Tables that ranking changes or makes, or that outputs add to; the others are as they stay once all lots are known."""


@dataclass(frozen=True, eq=False)
class Screening:
    """The result of a run.

    Parameters
    ----------
    title
        The area's title.
    crs
        Working CRS of every table and raster (metre).
    output_crs, unit_m
        CRS that files are written in, and the metres in one of its units: working coordinates divided by ``unit_m``
        are output coordinates. When the elevation was warped, ``output_crs`` is the working CRS.
    tables
        By name, as ``fields.TABLES`` declares them; ``lots`` has one row for each lot of the input, in order of
        ``lot_id``.
    layers
        Vector layers of the input that outputs draw (streets, inlets, water, trees, ...), by name.
    rasters
        ``heights_m`` and those of ``fields.LAYERS``, by name.
    rules
        The rules used.
    own_rules
        Rules of single lots that differ from these, by lot id.
    notes
        Assumptions, cautions and what was missing.
    record
        The run record: inputs with hashes, versions, counts; no times.
    background
        What a reader of the map may lay under it; None when nothing is named.
    """

    title: str
    crs: CRS
    output_crs: CRS
    unit_m: float
    tables: Mapping[str, Any]
    layers: Mapping[str, Any]
    rasters: Mapping[str, RasterSource]
    rules: Rules
    notes: tuple[Note, ...] = ()
    record: Mapping[str, Any] = field(default_factory=dict)
    own_rules: OwnRules = field(default_factory=dict)
    background: Background | None = None

    @property
    def lots(self) -> Any:
        """The lots table."""
        return self.tables["lots"]

    @property
    def places(self) -> Any:
        """The lots table with one row a place: without further lots of a stack."""
        return first_lots(self.tables["lots"])

    def by_place(self) -> Screening:
        """The result with one row a place in the lots table, as lists and maps show it."""
        return replace(self, tables={**self.tables, "lots": self.places})

    def rules_of(self, lot_id: str) -> Rules:
        """The rules that one lot was judged by."""
        return rules_of(lot_id, self.rules, self.own_rules)

    def first(self, n: int) -> Any:
        """The first n lots to approach, in order of rank."""
        ranked = self.lots[self.lots["rank"].notna()]
        return ranked.sort_values("rank").head(n).reset_index(drop=True)


class Watcher(Protocol):
    """Told of a result while it is made, so that what is known already can be written."""

    def ground_known(self, found: Screening) -> None:
        """Before any lot is looked at: rasters and layers are there, no tables."""

    def lots_known(self, found: Screening) -> None:
        """Before lots are ranked: all tables of the stages are there."""
