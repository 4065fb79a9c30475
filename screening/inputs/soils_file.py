"""Soil polygons and the survey tables that go with them, before they become map units."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import geopandas as gpd
import pandas as pd
from pyproj import CRS

from screening.grid import Grid
from screening.inputs.area_file import AreaFile
from screening.inputs.area_model import Soils
from screening.inputs.columns import as_lengths, as_text
from screening.inputs.file_paths import find_files, shown_path
from screening.inputs.findings import Findings
from screening.inputs.layers import joined
from screening.inputs.placing import Bounds, in_working_crs, meets, tell_overlap
from screening.inputs.repair import repaired, with_finite_coordinates
from screening.inputs.survey_export import Join, SurveyExport, check_joins, read_survey_export
from screening.inputs.vector_file import Wanted, read_vector
from screening.units import length_unit_m

__all__ = ["RawSoils", "read_soils"]

_TEXTS = ("mukey", "musym", "name", "group")
_NUMBERS = ("ksat_um_s", "water_table_m", "bedrock_m")


@dataclass(frozen=True, eq=False)
class RawSoils:
    """Soils as read.

    Parameters
    ----------
    polygons
        In the working CRS, only what lies on the elevation: ``mukey``, ``musym``, ``name`` and ``group`` (text),
        ``ksat_um_s``, ``water_table_m`` and ``bedrock_m`` (Float64), geometry; missing where not given.
    tables
        Tables of the survey export with their standard column names, by their standard names (``mapunit``,
        ``component``, ``chorizon``, ``muaggatt``, ``corestrictions``, ``comonth``, ``cosoilmoist``); a table that the
        export lacks is not there, and all are missing without an export.
    joins
        How keys were found, polygons to map units first.
    """

    polygons: gpd.GeoDataFrame
    tables: Mapping[str, pd.DataFrame] = field(default_factory=dict)
    joins: tuple[Join, ...] = ()

    @property
    def way(self) -> Literal["survey", "groups", "none"]:
        """What groups come from: the survey's tables, the polygons' own column, or nothing."""
        if self.tables:
            return "survey"
        return "groups" if self.polygons["group"].notna().any() else "none"


def read_soils(
    file: AreaFile,
    grid: Grid | None,
    findings: Findings,
    opened: list[str],
    around: Callable[[CRS], Bounds] | None = None,
) -> RawSoils | None:
    """Read ``[soils]``: polygons with a group column, a survey export, or polygons with ``mukey`` and its tables.

    Parameters
    ----------
    file
        The area file.
    grid
        The elevation; None when it could not be read, and the files are only looked through.
    findings
        Where faults and notes go.
    opened
        Files that were opened are added to it.
    around
        From a CRS to the rectangle in it that is to be read; all when None.
    """
    said = file.soils
    if said is None:
        return None
    frame = _read_polygons(said, file, findings, opened, around) if said.file else None
    export = _read_export(said, file, findings, opened) if said.export else None
    if export is not None and frame is None and said.file is None:
        frame = export.polygons
    if frame is None or grid is None or grid.crs is None or (said.export and export is None):
        return None
    placed = in_working_crs(frame, grid.crs, findings, layer="soils", file=", ".join(said.file or said.export or ()))
    if placed is None:
        return None
    return _finished(placed, export, said, grid, findings)


def _read_polygons(
    said: Soils, file: AreaFile, findings: Findings, opened: list[str], around: Callable[[CRS], Bounds] | None
) -> gpd.GeoDataFrame | None:
    """The polygons of ``file``, in the CRS of the first of its files."""
    paths = find_files(said.file or (), file.folder, findings, layer="soils", allow_urls=file.allow_urls)
    opened += paths
    keys = {
        "mukey": said.mukey,
        "group": said.group,
        "name": said.name,
        "ksat_um_s": said.ksat,
        "water_table_m": said.water_table,
        "bedrock_m": said.bedrock,
    }
    columns = {ours: theirs for ours, theirs in keys.items() if theirs is not None}
    wanted = Wanted("soils", columns, (*_TEXTS, *_NUMBERS), said.layer, said.crs, said.encoding, around)
    frames: list[gpd.GeoDataFrame] = []
    for path in paths:
        shown = shown_path(path, file.folder)
        frame = read_vector(path, shown, wanted, findings)
        if frame is None:
            continue
        if not {"mukey", "group"} & set(frame.columns):
            findings.fault(
                "Soils need a hydrologic group or a map unit key",
                "Add group = ... or mukey = ... to [soils] with the name of the column",
                file=shown,
                layer="soils",
            )
            continue
        frames.append(frame if not frames else frame.to_crs(frames[0].crs))
    return joined(frames, frames[0].crs) if frames and len(frames) == len(paths) else None


def _read_export(said: Soils, file: AreaFile, findings: Findings, opened: list[str]) -> SurveyExport | None:
    """The survey export; its polygons only when no others are given."""
    paths = find_files(said.export or (), file.folder, findings, layer="soils")
    opened += paths
    if not paths:
        return None
    names = [shown_path(path, file.folder) for path in paths]
    return read_survey_export(paths, names, findings, spatial=said.file is None)


def _finished(
    frame: gpd.GeoDataFrame, export: SurveyExport | None, said: Soils, grid: Grid, findings: Findings
) -> RawSoils | None:
    """Polygons typed, cut to the elevation's extent and repaired, with their tables."""
    columns: dict[str, Any] = {}
    for name in _TEXTS:
        columns[name] = as_text(_column(frame, name))
    factors = {
        "ksat_um_s": 1.0,
        "water_table_m": length_unit_m(said.water_table_unit) or 1.0,
        "bedrock_m": length_unit_m(said.bedrock_unit) or 1.0,
    }
    for name in _NUMBERS:
        columns[name], odd = as_lengths(_column(frame, name), factors[name], zero_is_a_length=True)
        if odd:
            findings.note("caution", f"{name}: {sum(odd.values()):,} values are no numbers, taken as missing.", "soils")
    typed = gpd.GeoDataFrame(columns, geometry=frame.geometry.array, crs=frame.crs)
    typed = with_finite_coordinates(typed, "soils", findings)
    overlap = tell_overlap(typed, grid.bounds_m, findings, layer="soils", cut=True)
    near = typed[meets(typed.bounds.to_numpy(), grid.bounds_m)].reset_index(drop=True)
    whole = repaired(near, "soils", findings)
    tables = export.tables if export is not None else {}
    joins = _joins(export, whole, findings)
    if export is None and whole["group"].isna().all() and overlap.share > 0:
        findings.note(
            "caution",
            "The soil polygons have neither a group nor survey tables: every group is unknown. Add export = ... to "
            "[soils] with the survey's tabular folder.",
            "soils",
        )
    return RawSoils(whole, tables, joins)


def _column(frame: gpd.GeoDataFrame, name: str) -> pd.Series[Any]:
    if name in frame.columns:
        found: pd.Series[Any] = frame[name]
        return found
    return pd.Series(None, index=frame.index, dtype=object)


def _joins(export: SurveyExport | None, polygons: gpd.GeoDataFrame, findings: Findings) -> tuple[Join, ...]:
    """How keys were found; keys that were not are told, and none at all is a fault."""
    if export is None:
        return ()
    joins: Sequence[Join] = export.joins if export.polygons is not None else check_joins(polygons, export.tables)
    for join in joins:
        if not join.left_only:
            continue
        shown = ", ".join(join.left_only[:5]) + (", ..." if len(join.left_only) > 5 else "")
        if join.left == "polygons" and join.matched == 0 and join.rows:
            findings.fault(
                f"No polygon's mukey is in the survey's tables ({shown})",
                "Give the export of the same survey area and version",
                layer="soils",
            )
        else:
            findings.note(
                "caution",
                f"{join.rows - join.matched:,} of {join.rows:,} {join.left} have a {join.key} that {join.right} lacks "
                f"({shown}).",
                "soils",
            )
    return tuple(joins)
