"""Read an area file and everything it names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import geopandas as gpd

from screening.area import Area, Note
from screening.errors import BadInput, Fault
from screening.grid import Grid
from screening.inputs.area_file import NEEDED, AreaFile, parse_area_file
from screening.inputs.area_model import RAIN_UNITS_MM
from screening.inputs.elevation import Heights, RasterTable, read_heights, read_surface
from screening.inputs.file_paths import find_files, hash_files
from screening.inputs.findings import Findings
from screening.inputs.layers import finished_layer, read_layer_files
from screening.inputs.missing_layers import COSTS
from screening.inputs.placing import Overlap
from screening.inputs.rules_file import RulesRead, load_rules, rules_from
from screening.inputs.soils_file import RawSoils, read_soils
from screening.inputs.working_crs import network_off
from screening.rules import Rules

__all__ = ["RainFile", "ReadArea", "Reading", "inspect_area", "read_area"]


@dataclass(frozen=True)
class RainFile:
    """The rain record to read, and what the area file says of it.

    Parameters
    ----------
    paths
        Files to open.
    unit_mm
        Millimetres in one unit of the depths; None where not said.
    date, depth
        Column names; None where not said.
    step
        ``hour`` or ``day``; None where not said.
    """

    paths: tuple[str, ...]
    unit_mm: float | None = None
    date: str | None = None
    depth: str | None = None
    step: str | None = None


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
    """

    area: Area
    rules: Rules
    rules_written: Mapping[str, str] = field(default_factory=dict)
    raw_soils: RawSoils | None = None
    rain_file: RainFile | None = None
    field_files: tuple[str, ...] = ()
    overlaps: tuple[Overlap, ...] = ()


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
        )
        return ReadArea(
            area=area,
            rules=self.rules.rules,
            rules_written=self.rules.written,
            raw_soils=self.raw_soils,
            rain_file=self.rain_file,
            field_files=self.field_files,
            overlaps=self.overlaps,
        )


def read_area(path: Path | str) -> ReadArea:
    """Read an area file and everything it names.

    Parameters
    ----------
    path
        The area file (TOML).

    Returns
    -------
    ReadArea
        The area in the working CRS, its rules, and what later stages make of their own.

    Raises
    ------
    BadInput
        With every fault found, each naming file, layer, feature and mend.
    """
    return inspect_area(path).result()


def inspect_area(path: Path | str) -> Reading:
    """Read all that can be read of an area, and keep every fault instead of raising it.

    Parameters
    ----------
    path
        The area file (TOML).
    """
    network_off()
    findings = Findings()
    path = Path(path)
    file = parse_area_file(path, findings)
    if file is None:
        empty = findings.problem_table(None)
        return Reading(
            path, None, None, None, {}, (), None, None, (), RulesRead(Rules()), empty, (), {}, tuple(findings.faults)
        )
    opened: list[str] = [str(path)]
    heights = _heights(file, findings, opened)
    surface = _surface(file, heights, findings, opened)
    layers, overlaps = _layers(file, heights, findings, opened)
    grid = heights.grid if heights else None
    soils = read_soils(file, grid, findings, opened) if file.soils else None
    rain = _rain(file, findings, opened)
    results = tuple(find_files(file.field_files, file.folder, findings, layer="field")) if file.field_files else ()
    opened += results
    rules = _rules(file, findings, opened)
    _tell_missing(file, findings)
    return Reading(
        path=path,
        file=file,
        heights=heights,
        surface=surface,
        layers=layers,
        overlaps=overlaps,
        raw_soils=soils,
        rain_file=rain,
        field_files=results,
        rules=rules,
        problems=findings.problem_table(grid.crs if grid else None),
        notes=tuple(dict.fromkeys(findings.notes)),
        hashes=hash_files(opened, file.folder),
        faults=tuple(dict.fromkeys(findings.faults)),
    )


def _heights(file: AreaFile, findings: Findings, opened: list[str]) -> Heights | None:
    """The elevation."""
    said = file.elevation
    if said is None:
        return None
    paths = find_files(said.file, file.folder, findings, layer="elevation", allow_urls=file.allow_urls)
    if not paths:
        return None
    table = RasterTable("elevation", paths, file.folder, said.vertical_unit, said.nodata, said.band, said.crs)
    heights = read_heights(table, findings)
    opened += heights.files if heights else paths
    return heights


def _surface(file: AreaFile, heights: Heights | None, findings: Findings, opened: list[str]) -> Grid | None:
    """The surface raster, on the cells of the elevation."""
    said = file.elevation
    if said is None or said.surface is None:
        return None
    paths = find_files(said.surface, file.folder, findings, layer="surface", allow_urls=file.allow_urls)
    if heights is None or not paths:
        return None
    table = RasterTable("surface", paths, file.folder, said.surface_vertical_unit, said.surface_nodata, 1, said.crs)
    found = read_surface(table, heights.grid, findings)
    opened += found[1] if found else paths
    return found[0] if found else None


def _layers(
    file: AreaFile, heights: Heights | None, findings: Findings, opened: list[str]
) -> tuple[dict[str, gpd.GeoDataFrame], tuple[Overlap, ...]]:
    """Every vector layer that could be read, and its overlap with the elevation."""
    layers: dict[str, gpd.GeoDataFrame] = {}
    overlaps: list[Overlap] = []
    crs = heights.grid.crs if heights else None
    for name, table in file.layers.items():
        paths = find_files(table.file, file.folder, findings, layer=name, allow_urls=file.allow_urls)
        opened += paths
        if not paths:
            continue
        frame = read_layer_files(table, paths, file.folder, crs, findings)
        if frame is None or heights is None:
            continue
        shown = ", ".join(table.file)
        whole, overlap = finished_layer(
            frame,
            name,
            heights.grid.bounds_m,
            findings,
            factors=table.factors,
            words=table.values,
            file=shown,
        )
        overlaps.append(overlap)
        layers[name] = whole
        if name in NEEDED and len(whole) == 0:
            findings.fault(f"No {name} are left to screen", "Check the layer", file=shown, layer=name)
    return layers, tuple(overlaps)


def _rain(file: AreaFile, findings: Findings, opened: list[str]) -> RainFile | None:
    """The rain record's files and what is said of them; another stage reads them."""
    said = file.rainfall
    if said is None:
        return None
    paths = find_files(said.file, file.folder, findings, layer="rainfall", allow_urls=file.allow_urls)
    opened += paths
    unit = RAIN_UNITS_MM[said.unit] if said.unit else None
    return RainFile(tuple(paths), unit, said.date, said.depth, said.step) if paths else None


def _rules(file: AreaFile, findings: Findings, opened: list[str]) -> RulesRead:
    """The rules: those of the rules file, and over them those that the area file gives itself."""
    given: dict[str, Any] = dict(file.rules)
    name = given.pop("file", None)
    base = RulesRead(Rules())
    if name is not None:
        paths = find_files([str(name)], file.folder, findings, layer="rules")
        opened += paths
        if paths:
            base = rules_from(load_rules(Path(paths[0]), str(name), findings), findings, file=str(name))
    return rules_from(given, findings, file=file.path.name, base=base)


def _tell_missing(file: AreaFile, findings: Findings) -> None:
    """Tell what each layer that is not given costs."""
    given = set(file.written)
    if file.elevation is not None and file.elevation.surface is not None:
        given.add("surface")
    for name, cost in COSTS.items():
        if name not in given:
            label = "surface raster" if name == "surface" else name
            findings.note("missing", f"No {label} given: {cost}.", name)
