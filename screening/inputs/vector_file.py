"""Read one vector file: find its layer, its columns and its CRS, or say what there is instead."""

from __future__ import annotations

import math
import warnings
import zipfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import geopandas as gpd
import pyogrio
from pyogrio.errors import DataLayerError, DataSourceError, FieldError
from pyproj import CRS
from pyproj.exceptions import CRSError

from screening.inputs.database import DATABASE, read_database_table
from screening.inputs.file_paths import members_of_zip
from screening.inputs.findings import Findings
from screening.inputs.known_keys import known_list
from screening.inputs.placing import Bounds, meets
from screening.inputs.working_crs import crs_of

__all__ = ["Wanted", "read_vector"]

_IN_ZIP: Final = (".shp", ".gpkg", ".geojson", ".json", ".fgb", ".parquet", ".kml", ".gml")
_FID: Final = "fid"
"""The name under which a column key means OGR's own feature number."""
_PARQUET: Final = (".parquet", ".geoparquet")


@dataclass(frozen=True)
class Wanted:
    """What is wanted of a file.

    Parameters
    ----------
    table
        Name of the table in the area file.
    columns
        The file's column for each of ours that the area file names; not having one is a fault.
    defaults
        Our columns that are read under their own name when the file has them.
    layer, crs, encoding
        As the area file says.
    around
        From a CRS to the rectangle in it that is to be read; all when None.
    """

    table: str
    columns: Mapping[str, str]
    defaults: Sequence[str] = ()
    layer: str | None = None
    crs: str | None = None
    encoding: str | None = None
    around: Callable[[CRS], Bounds] | None = None


def read_vector(path: str, name: str, wanted: Wanted, findings: Findings) -> gpd.GeoDataFrame | None:
    """Read one file.

    Parameters
    ----------
    path, name
        What to open and how to name it to people.
    wanted
        What is wanted of it.
    findings
        Where faults go.

    Returns
    -------
    geopandas.GeoDataFrame or None
        Our columns that were found, values as the file has them, and ``geometry`` with its CRS; None after a fault.
    """
    try:
        if path.startswith(DATABASE):
            frame = _whole(read_database_table(path.removeprefix(DATABASE)), name, wanted, findings)
        elif path.lower().endswith(_PARQUET):
            frame = _whole(gpd.read_parquet(path), name, wanted, findings)
        else:
            frame = _read_ogr(path, name, wanted, findings)
    except (DataSourceError, DataLayerError, FieldError, OSError, ValueError, zipfile.BadZipFile) as error:
        said = str(error).replace(path, name)
        findings.fault("The file cannot be read", f"It says: {said}", file=name, layer=wanted.table)
        return None
    placed = _with_crs(frame, name, wanted, findings) if frame is not None else None
    if placed is None or wanted.around is None:
        return placed
    near = meets(placed.bounds.to_numpy(), wanted.around(placed.crs))
    return placed[near].reset_index(drop=True)


def _read_ogr(path: str, name: str, wanted: Wanted, findings: Findings) -> gpd.GeoDataFrame | None:
    """Read what OGR reads; curves become chords on the way."""
    inner = _inside_zip(path, name, wanted, findings) if path.lower().endswith(".zip") else path
    if inner is None:
        return None
    layer = _choose_layer(inner, name, wanted, findings)
    if layer is None:
        return None
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        said = {} if wanted.encoding is None else {"encoding": wanted.encoding}
        info = pyogrio.read_info(inner, layer=layer, **said)
        found = _choose_columns([str(field) for field in info["fields"]], name, wanted, findings)
        if found is None:
            return None
        asked = [field for field in dict.fromkeys(found.values()) if field in info["fields"]]
        as_fid = len(asked) < len(set(found.values()))
        there = crs_of(wanted.crs or info["crs"])
        box = wanted.around(there) if wanted.around and there else None
        box = box if box and all(map(math.isfinite, box)) else None
        how = {"columns": asked, "fid_as_index": as_fid, "on_invalid": "fix", "bbox": box, **said}
        frame = pyogrio.read_dataframe(inner, layer=layer, **how)
        frame = frame.reset_index() if as_fid else frame
    for text in dict.fromkeys(str(one.message) for one in caught):
        findings.note("caution", f"Reading {name}: {text}", wanted.table)
    if not isinstance(frame, gpd.GeoDataFrame):
        findings.fault("The layer has no geometry", "Name a layer that has", file=name, layer=wanted.table)
        return None
    return _renamed(frame, found)


def _whole(frame: gpd.GeoDataFrame, name: str, wanted: Wanted, findings: Findings) -> gpd.GeoDataFrame | None:
    """The wanted columns of a table that was read as a whole."""
    if _FID not in frame.columns:
        frame = frame.assign(**{_FID: range(len(frame))})
    fields = [str(column) for column in frame.columns if column != frame.geometry.name]
    found = _choose_columns(fields, name, wanted, findings)
    return _renamed(frame, found) if found is not None else None


def _renamed(frame: gpd.GeoDataFrame, found: Mapping[str, str]) -> gpd.GeoDataFrame:
    """The frame with our column names only."""
    columns: dict[str, Any] = {ours: frame[theirs] for ours, theirs in found.items()}
    geometry = frame.geometry.array
    return gpd.GeoDataFrame(columns, geometry=geometry, crs=frame.crs, index=frame.index).reset_index(drop=True)


def _inside_zip(path: str, name: str, wanted: Wanted, findings: Findings) -> str | None:
    """The one vector file inside a zip, as OGR opens it."""
    members = members_of_zip(path, _IN_ZIP)
    if not members:
        return path
    chosen = [member for member in members if Path(member).stem == wanted.layer] if len(members) > 1 else members
    if len(chosen) != 1:
        stems = [Path(member).stem for member in members]
        findings.fault(
            "The zip holds several files",
            f"Add layer = ... to [{wanted.table}]. {known_list(wanted.layer or wanted.table, stems)}",
            file=name,
            layer=wanted.table,
        )
        return None
    return chosen[0]


def _choose_layer(path: str, name: str, wanted: Wanted, findings: Findings) -> str | None:
    """The layer to read."""
    listed = [(str(layer), kind) for layer, kind in pyogrio.list_layers(path)]
    spatial = [layer for layer, kind in listed if kind is not None]
    if not spatial:
        findings.fault("The file has no layer with geometry", "Name another file", file=name, layer=wanted.table)
        return None
    if wanted.layer in spatial:
        return wanted.layer
    if len(spatial) == 1 and (wanted.layer is None or "/vsizip/" in path):
        return spatial[0]
    if wanted.layer is None and wanted.table in spatial:
        return wanted.table
    what = f"There is no layer {wanted.layer!r}" if wanted.layer else "The file has several layers"
    findings.fault(
        what,
        f"Write the layer's name in [{wanted.table}]. {known_list(wanted.layer or wanted.table, spatial)}",
        file=name,
        layer=wanted.table,
    )
    return None


def _choose_columns(fields: list[str], name: str, wanted: Wanted, findings: Findings) -> dict[str, str] | None:
    """The file's column for each of ours that can be read; None when one that is named does not exist."""
    missing = False
    for ours, theirs in wanted.columns.items():
        if theirs not in fields and theirs != _FID:
            missing = True
            findings.fault(
                f"There is no column {theirs!r} (for {ours})", known_list(theirs, fields), file=name, layer=wanted.table
            )
    if missing:
        return None
    defaults = {column: column for column in wanted.defaults if column in fields}
    return {**defaults, **wanted.columns}


def _with_crs(frame: gpd.GeoDataFrame, name: str, wanted: Wanted, findings: Findings) -> gpd.GeoDataFrame | None:
    """The frame with a CRS: its own, or the area file's."""
    if wanted.crs is not None:
        try:
            said = CRS.from_user_input(wanted.crs)
        except CRSError:
            findings.fault(f"crs = {wanted.crs!r} is no CRS", 'Write crs = "EPSG:..."', layer=wanted.table)
            return None
        if frame.crs is not None and frame.crs != said:
            findings.note(
                "caution", f"{name} says its CRS is {frame.crs.name}; the area file's crs is followed.", wanted.table
            )
        return frame.set_crs(said, allow_override=True)
    if frame.crs is None:
        findings.fault(
            "The file has no CRS", f'Add crs = "EPSG:..." to [{wanted.table}]', file=name, layer=wanted.table
        )
        return None
    return frame
