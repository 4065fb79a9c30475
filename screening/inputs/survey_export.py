"""Read a soil survey export: polygons of the spatial part, tables of the tabular part, and how they join."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any, Final

import geopandas as gpd
import pandas as pd

from screening.inputs.findings import Findings
from screening.inputs.survey_database import is_survey_database, read_survey_database
from screening.inputs.survey_reply import is_survey_reply, read_survey_reply
from screening.inputs.survey_tables import KEYS, read_survey_tables
from screening.inputs.vector_file import Wanted, read_vector

__all__ = ["Join", "SurveyExport", "check_joins", "read_survey_export"]

_POLYGONS: Final = re.compile(r"^(gsm)?soilmu_a_.*\.shp$", re.IGNORECASE)
_LINKS: Final = (
    ("component", "mukey", "mapunit"),
    ("muaggatt", "mukey", "mapunit"),
    ("chorizon", "cokey", "component"),
    ("corestrictions", "cokey", "component"),
    ("comonth", "cokey", "component"),
)
"""Tables whose key must be found in another one."""


@dataclass(frozen=True)
class Join:
    """How the keys of one table are found in another.

    Parameters
    ----------
    left, right, key
        The tables and the key.
    rows, matched
        Rows of ``left``; those whose key is in ``right``.
    left_only
        Keys of ``left`` that ``right`` lacks, sorted.
    unused
        How many keys of ``right`` no row of ``left`` has.
    doubled
        Keys that stand on several rows of ``right``, sorted.
    """

    left: str
    right: str
    key: str
    rows: int
    matched: int
    left_only: tuple[str, ...] = ()
    unused: int = 0
    doubled: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class SurveyExport:
    """A survey export as read.

    Parameters
    ----------
    polygons
        ``mukey``, ``musym`` and geometry, in the export's CRS; None when it has no polygons.
    tables
        Tables by their standard names.
    joins
        How keys were found.
    """

    polygons: gpd.GeoDataFrame | None
    tables: Mapping[str, pd.DataFrame] = field(default_factory=dict)
    joins: tuple[Join, ...] = ()


@dataclass(frozen=True)
class _Part:
    """A file of the export: its path in it, the path for OGR, and its bytes."""

    path: PurePosixPath
    ogr_path: str
    data: Callable[[], bytes]


def read_survey_export(
    paths: Sequence[str], names: Sequence[str], findings: Findings, *, spatial: bool = True
) -> SurveyExport | None:
    """Read one survey export or several.

    Parameters
    ----------
    paths, names
        Folders, zips or databases, each of one survey area or of several, or saved replies of its data service, each
        of one table; and how to name them to people.
    findings
        Where faults and notes go.
    spatial
        Whether the polygons are wanted; without, the tabular part is enough.

    Returns
    -------
    SurveyExport or None
        None when a fault stands in the way.
    """
    tables: list[dict[str, pd.DataFrame]] = []
    polygons: list[gpd.GeoDataFrame] = []
    whole = len(findings.faults)
    for path, name in zip(paths, names, strict=True):
        if is_survey_database(path):
            database, shapes_found = read_survey_database(path, name, findings, spatial=spatial)
            tables.append(database)
            polygons += shapes_found
            continue
        if is_survey_reply(path):
            tables.append(_read_reply(path, name, findings, spatial=spatial))
            continue
        try:
            parts = _parts(Path(path))
        except (OSError, zipfile.BadZipFile) as error:
            findings.fault("The survey export cannot be opened", f"It says: {error}", file=name, layer="soils")
            continue
        found = [read_survey_tables(folder, findings, file=name) for folder in _tabular(parts)]
        if not any("mapunit" in one or "muaggatt" in one for one in found):
            findings.fault(
                "The survey export has no tabular part (mapunit.txt, comp.txt, ...)",
                "Name the folder that holds 'tabular' and 'spatial'",
                file=name,
                layer="soils",
            )
        tables += found
        if spatial:
            polygons += _read_polygons(parts, name, findings)
    if len(findings.faults) > whole:
        return None
    merged = _merged(tables, findings)
    shapes = _one_frame(polygons) if polygons else None
    return SurveyExport(shapes, merged, check_joins(shapes, merged))


def _read_reply(path: str, name: str, findings: Findings, *, spatial: bool) -> dict[str, pd.DataFrame]:
    """The table of a saved reply, which has no polygons."""
    if spatial:
        findings.fault(
            "A saved reply has no map unit polygons", "Give polygons with mukey as file", file=name, layer="soils"
        )
    return read_survey_reply(path, name, findings)


def _parts(path: Path) -> list[_Part]:
    """Files of a folder or of a zip, in order of their paths."""
    if path.is_dir():
        files = sorted((file for file in path.rglob("*") if file.is_file()), key=str)
        return [_Part(PurePosixPath(file.relative_to(path).as_posix()), str(file), file.read_bytes) for file in files]
    with zipfile.ZipFile(path) as archive:
        members = sorted(member for member in archive.namelist() if not member.endswith("/"))
    return [_Part(PurePosixPath(one), f"/vsizip/{path}/{one}", _zip_reader(path, one)) for one in members]


def _zip_reader(path: Path, member: str) -> Callable[[], bytes]:
    def read() -> bytes:
        with zipfile.ZipFile(path) as archive:
            return archive.read(member)

    return read


def _tabular(parts: Sequence[_Part]) -> list[dict[str, Callable[[], bytes]]]:
    """Each folder that holds survey tables, as readers by lower-case file name."""
    folders: dict[PurePosixPath, dict[str, Callable[[], bytes]]] = {}
    for part in parts:
        if part.path.suffix.lower() == ".txt":
            folders.setdefault(part.path.parent, {})[part.path.name.lower()] = part.data
    return [files for files in folders.values() if {"mapunit.txt", "comp.txt", "muaggatt.txt"} & set(files)]


def _read_polygons(parts: Sequence[_Part], name: str, findings: Findings) -> list[gpd.GeoDataFrame]:
    """The map unit polygons of every area in an export."""
    shapes = [part for part in parts if _POLYGONS.match(part.path.name)]
    if not shapes:
        findings.fault(
            "The survey export has no map unit polygons (soilmu_a_*.shp)",
            "Name the folder that holds 'tabular' and 'spatial', or give polygons with mukey as file",
            file=name,
            layer="soils",
        )
    frames = []
    for part in shapes:
        wanted = Wanted("soils", {"mukey": "MUKEY", "musym": "MUSYM"})
        frame = read_vector(part.ogr_path, f"{name}/{part.path}", wanted, findings)
        if frame is not None:
            frames.append(frame)
    return frames


def _one_frame(frames: Sequence[gpd.GeoDataFrame]) -> gpd.GeoDataFrame:
    """Polygons of several areas in the CRS of the first."""
    same = [frames[0], *(frame.to_crs(frames[0].crs) for frame in frames[1:])]
    return gpd.GeoDataFrame(pd.concat(same, ignore_index=True), crs=frames[0].crs)


def _merged(tables: Sequence[Mapping[str, pd.DataFrame]], findings: Findings) -> dict[str, pd.DataFrame]:
    """Tables of several areas as one; equal rows once, of rows with one key the first."""
    merged: dict[str, pd.DataFrame] = {}
    for table in dict.fromkeys(name for one in tables for name in one):
        parts = [one[table] for one in tables if table in one and len(one[table])]
        if not parts:
            merged[table] = next(one[table] for one in tables if table in one)
            continue
        rows = pd.concat(parts, ignore_index=True).drop_duplicates(ignore_index=True) if len(parts) > 1 else parts[0]
        key = KEYS.get(table)
        if key is not None:
            doubled = rows[key].duplicated()
            if doubled.any():
                names = sorted(set(rows.loc[doubled, key]))
                findings.note(
                    "caution",
                    f"Survey table {table}: {len(names):,} values of {key} stand on several rows "
                    f"({', '.join(names[:5])}); the first is used.",
                    "soils",
                )
                rows = rows[~doubled].reset_index(drop=True)
        merged[table] = rows
    return merged


def check_joins(polygons: gpd.GeoDataFrame | None, tables: Mapping[str, pd.DataFrame]) -> tuple[Join, ...]:
    """How the keys of polygons and tables are found in each other.

    Parameters
    ----------
    polygons
        With ``mukey``; None when there are none.
    tables
        Survey tables.
    """
    joins = []
    home = "mapunit" if "mapunit" in tables else "muaggatt"
    if polygons is not None and home in tables:
        joins.append(_join("polygons", polygons["mukey"], home, tables[home]["mukey"], "mukey"))
    for left, key, right in _LINKS:
        if left in tables and right in tables and key in tables[left].columns:
            joins.append(_join(left, tables[left][key], right, tables[right][key], key))
    return tuple(joins)


def _join(left: str, left_keys: pd.Series[Any], right: str, right_keys: pd.Series[Any], key: str) -> Join:
    known = set(right_keys.dropna())
    asked = left_keys.astype("str")
    matched = asked.isin(known)
    return Join(
        left=left,
        right=right,
        key=key,
        rows=len(asked),
        matched=int(matched.sum()),
        left_only=tuple(sorted({str(value) for value in asked[~matched].fillna("(none)")})),
        unused=len(known - set(asked)),
        doubled=tuple(sorted({str(value) for value in right_keys[right_keys.duplicated()].dropna()})),
    )
