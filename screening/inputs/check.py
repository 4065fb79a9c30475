"""What ``screening check`` says: what was found, what is missing and what that costs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

import geopandas as gpd
import numpy as np

from screening.area import FOUND_COLUMNS, LAYER_COLUMNS, Note
from screening.errors import Fault
from screening.grid import Grid
from screening.inputs.background import about_background
from screening.inputs.elevation import typical_step_pct
from screening.inputs.memory import GIB, memory_needed_b
from screening.inputs.read_parts import Reading
from screening.inputs.reading import inspect_area
from screening.inputs.soils_file import RawSoils
from screening.units import FOOT_M, US_SURVEY_FOOT_M

__all__ = ["check_area", "describe", "in_the_way"]

_HEADS = (
    ("repair", "Repaired"),
    ("assumption", "Assumed"),
    ("caution", "Take care"),
    ("missing", "Not given, and what that costs"),
)
_FACTOR_FROM = {
    "area file": "as the area file says",
    "CRS": "as the raster's CRS says",
    "band": "as the raster's band says",
    "assumed": "assumed, nothing says it",
}


def check_area(path: Path | str) -> tuple[list[str], tuple[Fault, ...]]:
    """Read an area and say what was found.

    Parameters
    ----------
    path
        The area file.

    Returns
    -------
    list of str
        Lines of the report.
    tuple of Fault
        Every fault.
    """
    reading = inspect_area(path)
    return describe(reading), reading.faults


def describe(reading: Reading) -> list[str]:
    """Tell in lines what was read.

    Parameters
    ----------
    reading
        What ``inspect_area`` returns, with faults or without.

    Returns
    -------
    list of str
        CRS, units, cells, counts, repairs, overlaps, assumptions, what is missing and what that costs.
    """
    title = reading.file.title if reading.file else reading.path.name
    lines = [f"Area: {title}"]
    lines += _about_part(reading)
    lines += _about_elevation(reading)
    lines += _about_layers(reading)
    lines += _about_memory(reading)
    lines += _about_beside(reading)
    lines += about_background(reading.background)
    lines += _about_problems(reading.problems)
    for kind, head in _HEADS:
        lines += _listed(head, _texts(note for note in reading.notes if note.kind == kind))
    return [*lines, in_the_way(len(reading.faults))]


def in_the_way(faults: int) -> str:
    """The last line: whether faults stand in the way of a run, and how many."""
    if not faults:
        return "Nothing stands in the way of a run."
    return f"{faults} {'fault stands' if faults == 1 else 'faults stand'} in the way of a run."


def _listed(head: str, texts: Sequence[str]) -> list[str]:
    return [f"{head}:", *(f"  {text}" for text in texts)] if texts else []


def _texts(notes: Iterable[Note]) -> list[str]:
    return [f"{note.layer}: {note.text}" if note.layer and note.kind != "missing" else note.text for note in notes]


def unit_name(metres: float) -> str:
    """A unit of length by its size [m]."""
    for size, name in ((1.0, "metre"), (US_SURVEY_FOOT_M, "US survey foot"), (FOOT_M, "foot")):
        if abs(metres / size - 1) < 1e-9:
            return name
    return f"{metres:g} m"


def _about_part(reading: Reading) -> list[str]:
    """Which part of a larger area is screened."""
    part, lots = reading.part, reading.layers.get("lots")
    if part is None:
        return []
    counted = "" if lots is None else f": {len(lots):,} lots of {len(lots) + len(reading.elsewhere):,}"
    return [f"Within {part.name}{counted}; other layers are read {part.margin_m:g} m around it"]


def _about_elevation(reading: Reading) -> list[str]:
    """Cells, extent, heights, CRS and units."""
    heights = reading.heights
    if heights is None:
        return ["Elevation: none could be read, so the other layers were only looked through"]
    grid = heights.grid
    lines = [
        f"Elevation: {_cells(grid)}",
        f"  heights {_range(grid)}; median step between cells {typical_step_pct(grid):.1f}%",
        f"  horizontal: {heights.raster_crs.name}; working CRS {reading.problems.crs.name}, in metres"
        + (" (warped)" if heights.warped else ""),
        f"  units: x and y {unit_name(heights.unit_m) if not heights.warped else 'metre, after the warp'}; heights "
        f"{unit_name(grid.height_factor)}, {_FACTOR_FROM[heights.vertical_source]}",
    ]
    if reading.surface is not None:
        both = reading.surface.valid & grid.valid
        above = reading.surface.heights_m()[both] - grid.heights_m()[both]
        share = 100 * float(np.mean(both))
        lines.append(
            f"Surface raster: on {share:.0f}% of the cells; {np.median(above):.1f} m above the ground in the median, "
            f"{np.quantile(above, 0.99):.1f} m at most of 99%"
        )
    return lines


def _cells(grid: Grid) -> str:
    rows, columns = grid.shape
    without = int(np.count_nonzero(~grid.valid))
    wide, high = columns * grid.cell_x_m, rows * grid.cell_y_m
    return (
        f"{rows:,} rows and {columns:,} columns of {grid.cell_x_m:.4g} x {grid.cell_y_m:.4g} m, "
        f"{wide:,.0f} x {high:,.0f} m; {without:,} cells ({100 * without / grid.values.size:.1f}%) without height"
    )


def _range(grid: Grid) -> str:
    heights = grid.heights_m()
    return f"{np.nanmin(heights):.2f} to {np.nanmax(heights):.2f} m"


def _about_layers(reading: Reading) -> list[str]:
    """Counts, overlap and columns of each vector layer."""
    lines = []
    for overlap in reading.overlaps:
        layer = reading.layers[overlap.layer]
        on = round(overlap.share * overlap.features)
        read = f"{overlap.features:,} read, {on:,} on the elevation"
        lines.append(f"{overlap.layer}: {read}, {len(layer):,} kept. {_columns(layer, overlap.layer)}".rstrip())
    return lines


def _about_memory(reading: Reading) -> list[str]:
    """Memory that a run takes."""
    if reading.heights is None or "lots" not in reading.layers:
        return []
    needed = memory_needed_b(reading.heights.grid.values.size, len(reading.layers["lots"]))
    return [f"Memory: a run takes about {needed / GIB:.1f} GiB"]


def _columns(layer: gpd.GeoDataFrame, name: str) -> str:
    """Which columns are filled, partly filled, empty."""
    filled, partly, empty = [], [], []
    for column in LAYER_COLUMNS[name]:
        if column in FOUND_COLUMNS or column not in layer.columns:
            continue
        count = int(layer[column].notna().sum())
        if count == len(layer):
            filled.append(column)
        elif count:
            partly.append(f"{column} ({count:,})")
        else:
            empty.append(column)
    told = [("given", filled), ("in part", partly), ("not given", empty)]
    return "; ".join(f"{head}: {', '.join(columns)}" for head, columns in told if columns)


def _about_beside(reading: Reading) -> list[str]:
    """Soils, rain, field results and rules."""
    lines = _about_soils(reading.raw_soils) if reading.raw_soils else []
    if reading.rain_file is not None and reading.rain_file.paths:
        lines.append(f"Rain: {_files(len(reading.rain_file.paths))}")
    if reading.field_files:
        lines.append(f"Field results: {_files(len(reading.field_files))}")
    given = reading.rules.written
    if given:
        read = {rule: f"{rule} = {getattr(reading.rules.rules, rule)}" for rule in given}
        told = [text if text == read[rule] else f"{text} ({read[rule]})" for rule, text in given.items()]
        lines += _listed(f"Rules that differ from the defaults or repeat them ({len(given)})", told)
    else:
        lines.append("Rules: the defaults")
    if reading.own_rules:
        names = sorted({name for given in reading.own_rules.values() for name in given})
        lines.append(f"Rules of their own: {len(reading.own_rules):,} lots ({', '.join(names)})")
    return lines


def _files(number: int) -> str:
    return f"{number} {'file' if number == 1 else 'files'}"


def _about_soils(soils: RawSoils) -> list[str]:
    way = {
        "survey": "groups from the survey's tables",
        "groups": "groups from the polygons' own column",
        "none": "no groups",
    }[soils.way]
    lines = [f"Soils: {len(soils.polygons):,} polygons on the elevation; {way}"]
    if soils.tables:
        lines.append("  tables: " + ", ".join(f"{name} {len(table):,}" for name, table in soils.tables.items()))
    lines += [
        f"  {join.matched:,} of {join.rows:,} {join.left} joined to {join.right} by {join.key}" for join in soils.joins
    ]
    if soils.way == "groups":
        counts = soils.polygons["group"].fillna("none").value_counts().sort_index()
        lines.append("  groups: " + ", ".join(f"{group} {count:,}" for group, count in counts.items()))
    return lines


def _about_problems(problems: gpd.GeoDataFrame) -> list[str]:
    """Problems counted by layer, kind and what was done."""
    if problems.empty:
        return []
    kinds = problems["problem"].str.replace(r"^overlaps lot .*", "overlaps another lot", regex=True)
    counts = problems.assign(problem=kinds).groupby(["layer", "problem", "done"], sort=True).size()
    told = [f"{layer}: {problem}, {done}: {count:,}" for (layer, problem, done), count in counts.items()]
    return _listed(f"Problems ({len(problems):,})", told)
