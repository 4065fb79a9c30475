"""What is known of the whole area before any block: soils, rain, and the context that every block is given."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from screening.area import Area, AreaContext, Note, SoilMap
from screening.errors import BadInput, Fault
from screening.inputs import RainFile, RawSoils, ReadArea
from screening.inputs.field_file import read_field_files
from screening.lot_rules import OwnRules
from screening.rules import Rules
from screening.season.reduce import reduce_field
from screening.soils.soil_map import soil_map
from screening.water.rain_files import read_rain
from screening.water.year import rain_years

__all__ = ["area_context", "complete_area"]


def complete_area(read: ReadArea) -> Area:
    """Make map units of the soils as read, a record of the rain file, and a table of the field results.

    Raises
    ------
    BadInput
        With every fault of soils, rain and field results.
    """
    faults: list[Fault] = []
    notes = list(read.area.notes)
    soils, rain, results = read.area.soils, read.area.rain, read.area.field_results
    try:
        if read.raw_soils is not None:
            soils, told = _soil_map(read.raw_soils, read.rules)
            notes += told
    except BadInput as error:
        faults += error.faults
    try:
        if read.rain_file is not None and read.rain_file.paths:
            rain, told = _rain(read.rain_file)
            notes += told
    except BadInput as error:
        faults += error.faults
    try:
        if read.field_files:
            ids = {*read.area.layers["lots"]["lot_id"], *read.elsewhere}
            results = read_field_files(read.field_files, ids, unit_m=read.area.unit_m, crs=read.area.crs)
            results = results[~results["lot_id"].isin(read.elsewhere)].reset_index(drop=True)
    except BadInput as error:
        faults += error.faults
    if faults:
        raise BadInput(faults)
    return replace(read.area, soils=soils, rain=rain, field_results=results, notes=tuple(dict.fromkeys(notes)))


def area_context(area: Area, rules: Rules, own_rules: OwnRules | None = None) -> AreaContext:
    """Gather what every block is given.

    A rain record that is too short for a mean year is told, and year figures stay empty.
    """
    notes, years = area.notes, None
    if area.rain is not None:
        try:
            years = rain_years(area.rain)
        except BadInput as error:
            notes = (
                *notes,
                *(Note("missing", f"No year figures: {fault.what}.", "rainfall") for fault in error.faults),
            )
    field = reduce_field(area, rules)
    inlets = area.layers.get("inlets")
    ids = () if inlets is None else tuple(str(name) for name in inlets["inlet_id"])
    return AreaContext(
        rules,
        area.crs,
        given_layers(area),
        notes,
        rain_years=years,
        own_rules=own_rules or {},
        field=field,
        inlet_ids=ids,
    )


def given_layers(area: Area) -> frozenset[str]:
    """Names of what was given, beside vector layers too."""
    beside = {"soils": area.soils, "surface": area.surface, "rainfall": area.rain, "field": area.field_results}
    return frozenset(area.layers) | {name for name, value in beside.items() if value is not None}


def _soil_map(raw: RawSoils, rules: Rules) -> tuple[SoilMap | None, tuple[Note, ...]]:
    if raw.way == "none":
        return None, (Note("missing", "The soil polygons carry no group, and no survey tables are given.", "soils"),)
    return soil_map(raw.polygons, raw.tables, rules)


def _rain(file: RainFile) -> tuple[Any, tuple[Note, ...]]:
    record = read_rain(file.paths, unit_mm=file.unit_mm, date=file.date, depth=file.depth, step=file.step)
    return record.table, record.notes
