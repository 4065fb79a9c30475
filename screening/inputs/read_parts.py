"""What a reading hands on: the area, its rules, and what later stages make of their own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import geopandas as gpd

from screening.area import Area, Note
from screening.background import Background
from screening.errors import BadInput, Fault
from screening.grid import Grid
from screening.inputs.area_file import AreaFile
from screening.inputs.elevation import Heights
from screening.inputs.placing import Overlap
from screening.inputs.rules_file import RulesRead
from screening.inputs.soils_file import RawSoils
from screening.inputs.within import Part
from screening.lot_rules import OwnRules
from screening.rules import Rules

__all__ = ["RainFile", "ReadArea", "Reading", "StormWanted"]


@dataclass(frozen=True)
class StormWanted:
    """Which depth the storm has.

    Parameters
    ----------
    percentile
        Of the record's rain days; None where it is a depth of the table.
    table
        The precipitation-frequency table; empty where it is a percentile.
    years, hours
        Recurrence interval and duration of the table's depth.
    """

    percentile: float | None = None
    table: str = ""
    years: int = 0
    hours: float = 24.0


@dataclass(frozen=True)
class RainFile:
    """The rain record to read, and what the area file says of it and of the storm.

    Parameters
    ----------
    paths
        Files of the record; none where only a depth is given.
    unit_mm
        Millimetres in one unit of the depths; None where not said.
    date, depth
        Column names; None where not said.
    step
        ``hour`` or ``day``; None where not said.
    storm
        How the depth of the storm is said, where the rules do not say it.
    """

    paths: tuple[str, ...]
    unit_mm: float | None = None
    date: str | None = None
    depth: str | None = None
    step: str | None = None
    storm: StormWanted | None = None


@dataclass(frozen=True, eq=False)
class ReadArea:
    """An area as read, with what later stages make of its own.

    Parameters
    ----------
    area
        The area; ``soils``, ``rain`` and ``field_results`` are for the pipeline to fill from the parts below.
    rules
        The rules; ``rules_written`` has those that were given, as their owner wrote them.
    raw_soils
        Soil polygons and survey tables; None when the area file gives no soils.
    rain_file
        The rain record; None when none is given.
    field_files
        Files of field results.
    overlaps
        How much of each layer lies on the elevation.
    own_rules
        Rules of single lots that differ from ``rules``.
    elsewhere
        Ids of lots that are not screened, being of other parts of a larger area.
    """

    area: Area
    rules: Rules
    rules_written: Mapping[str, str] = field(default_factory=dict)
    raw_soils: RawSoils | None = None
    rain_file: RainFile | None = None
    field_files: tuple[str, ...] = ()
    overlaps: tuple[Overlap, ...] = ()
    own_rules: OwnRules = field(default_factory=dict)
    elsewhere: frozenset[str] = frozenset()


@dataclass(frozen=True, eq=False)
class Reading:
    """All that could be read, whether or not it is enough, and every fault."""

    path: Path
    file: AreaFile | None
    heights: Heights | None
    surface: Grid | None
    layers: Mapping[str, gpd.GeoDataFrame]
    overlaps: tuple[Overlap, ...]
    raw_soils: RawSoils | None
    rain_file: RainFile | None
    field_files: tuple[str, ...]
    rules: RulesRead
    problems: gpd.GeoDataFrame
    notes: tuple[Note, ...]
    hashes: Mapping[str, str]
    faults: tuple[Fault, ...]
    own_rules: OwnRules = field(default_factory=dict)
    part: Part | None = None
    elsewhere: frozenset[str] = frozenset()
    background: Background | None = None

    def result(self) -> ReadArea:
        """The area.

        Raises
        ------
        BadInput
            When there is any fault.
        """
        if self.faults or self.file is None or self.heights is None:
            raise BadInput(self.faults)
        area = Area(
            title=self.file.title,
            crs=self.problems.crs,
            output_crs=self.heights.output_crs,
            unit_m=self.heights.unit_m,
            elevation=self.heights.grid,
            layers=self.layers,
            surface=self.surface,
            problems=self.problems,
            notes=self.notes,
            files=self.hashes,
            background=self.background,
        )
        return ReadArea(
            area=area,
            rules=self.rules.rules,
            rules_written=self.rules.written,
            raw_soils=self.raw_soils,
            rain_file=self.rain_file,
            field_files=self.field_files,
            overlaps=self.overlaps,
            own_rules=self.own_rules,
            elsewhere=self.elsewhere,
        )
