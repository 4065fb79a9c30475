"""Read an area file and everything it names."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import geopandas as gpd
from pyproj import CRS

from screening.grid import Grid
from screening.inputs.area_file import NEEDED, AreaFile, parse_area_file
from screening.inputs.area_model import RAIN_UNITS_MM
from screening.inputs.background import read_background
from screening.inputs.elevation import Heights, read_heights
from screening.inputs.file_paths import find_files, hash_files
from screening.inputs.findings import Findings
from screening.inputs.layers import finished_layer, reach_of, read_layer_files
from screening.inputs.lot_rules_file import read_lot_rules
from screening.inputs.memory import tell_memory
from screening.inputs.missing_layers import tell_missing
from screening.inputs.placing import Bounds, Overlap
from screening.inputs.raster_table import RasterTable
from screening.inputs.read_parts import RainFile, ReadArea, Reading, StormWanted
from screening.inputs.rules_file import RulesRead, load_rules, rules_from
from screening.inputs.soils_file import read_soils
from screening.inputs.surface import read_surface
from screening.inputs.within import Part, read_part
from screening.inputs.working_crs import network_off
from screening.lot_rules import OwnRules
from screening.rules import Rules

__all__ = ["inspect_area", "read_area"]

Around = Callable[[CRS], Bounds]


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
        return _nothing_read(path, findings)
    opened: list[str] = [str(path)]
    part = (
        None
        if file.within is None
        else read_part(file.within, file.folder, findings, opened, allow_urls=file.allow_urls)
    )
    around = None if part is None else part.bounds_in
    heights = _heights(file, around, findings, opened)
    surface = _surface(file, heights, around, findings, opened)
    layers, overlaps, elsewhere = _layers(file, heights, part, findings, opened)
    grid = heights.grid if heights else None
    soils = read_soils(file, grid, findings, opened, around) if file.soils else None
    rain = _rain(file, findings, opened)
    results = tuple(find_files(file.field_files, file.folder, findings, layer="field")) if file.field_files else ()
    opened += results
    background = read_background(file, heights, findings, opened)
    rules = _rules(file, findings, opened)
    own_rules = _own_rules(file, rules, layers.get("lots"), elsewhere, findings, opened)
    if grid is not None and "lots" in layers:
        tell_memory(grid.values.size, len(layers["lots"]), findings)
    surfaced = file.elevation is not None and file.elevation.surface is not None
    recorded = rain is not None and bool(rain.paths)
    given = file.written - (set() if recorded else {"rainfall"})
    tell_missing({*given, *(["surface"] if surfaced else [])}, findings)
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
        own_rules=own_rules,
        part=part,
        elsewhere=elsewhere,
        background=background,
    )


def _nothing_read(path: Path, findings: Findings) -> Reading:
    """The reading of an area file that is missing or cannot be understood."""
    empty = findings.problem_table(None)
    return Reading(
        path, None, None, None, {}, (), None, None, (), RulesRead(Rules()), empty, (), {}, tuple(findings.faults)
    )


def _heights(file: AreaFile, around: Around | None, findings: Findings, opened: list[str]) -> Heights | None:
    """The elevation."""
    said = file.elevation
    if said is None:
        return None
    paths = find_files(said.file, file.folder, findings, layer="elevation", allow_urls=file.allow_urls)
    if not paths:
        return None
    table = RasterTable("elevation", paths, file.folder, said.vertical_unit, said.nodata, said.band, said.crs, around)
    heights = read_heights(table, findings)
    opened += heights.files if heights else paths
    return heights


def _surface(
    file: AreaFile, heights: Heights | None, around: Around | None, findings: Findings, opened: list[str]
) -> Grid | None:
    """The surface raster, on the cells of the elevation."""
    said = file.elevation
    if said is None or said.surface is None:
        return None
    paths = find_files(said.surface, file.folder, findings, layer="surface", allow_urls=file.allow_urls)
    if heights is None or not paths:
        return None
    unit, nodata = said.surface_vertical_unit, said.surface_nodata
    table = RasterTable("surface", paths, file.folder, unit, nodata, 1, said.crs, around)
    found = read_surface(table, heights.grid, findings)
    opened += found[1] if found else paths
    return found[0] if found else None


def _layers(
    file: AreaFile, heights: Heights | None, part: Part | None, findings: Findings, opened: list[str]
) -> tuple[dict[str, gpd.GeoDataFrame], tuple[Overlap, ...], frozenset[str]]:
    """Every vector layer that could be read, its overlap with the elevation, and the ids of lots of other parts."""
    layers: dict[str, gpd.GeoDataFrame] = {}
    overlaps: list[Overlap] = []
    elsewhere: frozenset[str] = frozenset()
    crs = heights.grid.crs if heights else None
    for name, table in file.layers.items():
        paths = find_files(table.file, file.folder, findings, layer=name, allow_urls=file.allow_urls)
        opened += paths
        if not paths:
            continue
        # of the lots all are read, as field results may speak of any
        around = None if part is None or name == "lots" else part.bounds_in
        frame = read_layer_files(table, paths, file.folder, crs, findings, around)
        if frame is None or heights is None:
            continue
        if part is not None and name == "lots":
            frame, elsewhere = part.split(frame)
        shown = ", ".join(table.file)
        whole, overlap = finished_layer(
            frame,
            name,
            heights.grid.bounds_m,
            findings,
            factors=table.factors,
            words=table.values,
            file=shown,
            reach=reach_of(heights.grid.bounds_m, layers.get("lots")),
        )
        overlaps.append(overlap)
        layers[name] = whole
        if name in NEEDED and len(whole) == 0:
            findings.fault(f"No {name} are left to screen", "Check the layer", file=shown, layer=name)
    return layers, tuple(overlaps), elsewhere


def _rain(file: AreaFile, findings: Findings, opened: list[str]) -> RainFile | None:
    """The rain record's files and what is said of them; another stage reads them."""
    said = file.rainfall
    if said is None:
        return None
    paths: list[str] = []
    if said.file is not None:
        paths = find_files(said.file, file.folder, findings, layer="rainfall", allow_urls=file.allow_urls)
    tables: list[str] = []
    if said.frequency is not None:
        tables = find_files([said.frequency], file.folder, findings, layer="rainfall", allow_urls=file.allow_urls)
    opened += [*paths, *tables]
    storm = None
    if said.storm_percentile is not None:
        storm = StormWanted(percentile=float(said.storm_percentile))
    elif tables and said.storm_years is not None:
        storm = StormWanted(table=tables[0], years=said.storm_years, hours=float(said.storm_hours))
    unit = RAIN_UNITS_MM[said.unit] if said.unit else None
    return RainFile(tuple(paths), unit, said.date, said.depth, said.step, storm) if paths or storm else None


def _rules(file: AreaFile, findings: Findings, opened: list[str]) -> RulesRead:
    """The rules: those of the rules file, and over them those that the area file gives itself."""
    given: dict[str, Any] = dict(file.rules)
    name = given.pop("file", None)
    given.pop("by_lot", None)
    base = RulesRead(Rules())
    if name is not None:
        paths = find_files([str(name)], file.folder, findings, layer="rules")
        opened += paths
        if paths:
            base = rules_from(load_rules(Path(paths[0]), str(name), findings), findings, file=str(name))
    return rules_from(given, findings, file=file.path.name, base=base)


def _own_rules(
    file: AreaFile,
    rules: RulesRead,
    lots: gpd.GeoDataFrame | None,
    elsewhere: frozenset[str],
    findings: Findings,
    opened: list[str],
) -> OwnRules:
    """Rules of single lots, from the table that ``by_lot`` of ``[rules]`` names."""
    name = file.rules.get("by_lot")
    if name is None:
        return {}
    paths = find_files([str(name)], file.folder, findings, layer="rules")
    opened += paths
    if not paths or lots is None:
        return {}
    return read_lot_rules(Path(paths[0]), str(name), rules, lots, findings, elsewhere)
