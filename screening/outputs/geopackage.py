"""Every table in one GeoPackage, one geometry type a layer, styled for desktop GIS."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any, Final

import geopandas as gpd
import pandas as pd
import pyogrio

from screening.fields import TABLES, conform
from screening.outputs.layer_styles import layer_styles
from screening.outputs.written_shapes import Thinning, as_written, fewer_corners, straight
from screening.result import Screening

__all__ = ["GEOMETRY_TYPES", "OUTLINE_M", "table_frames", "write_geopackage"]

GEOMETRY_TYPES: Final[dict[str, str]] = {
    "lots": "MultiPolygon",
    "roof_pieces": "MultiPolygon",
    "roof_shares": "MultiPolygon",
    "downspouts": "Point",
    "open_ground": "MultiPolygon",
    "candidates": "MultiPolygon",
    "leads": "MultiLineString",
    "overflow_paths": "MultiLineString",
    "streets": "MultiLineString",
    "inlet_totals": "Point",
    "season": "Point",
    "problems": "Point",
}
"""Geometry type of each layer; tables that are not here have none."""

OUTLINE_M: Final = 0.03
"""Candidates are drawn with fewer corners, moved by less than this; the columns hold the areas of the whole ellipse."""

_THINNED: Final[dict[str, Thinning]] = {
    "candidates": partial(fewer_corners, within_m=OUTLINE_M),
    "overflow_paths": straight,
}

_TYPES: Final = {"text": "str", "number": "Float64", "integer": "Int64", "flag": "boolean"}

_OPTIONS: Final = {
    "OGR_CURRENT_DATE": "2000-01-01T00:00:00.000Z",
    "OGR_SQLITE_PRAGMA": "page_size=16384",
    "OGR_SQLITE_SYNCHRONOUS": "OFF",
}
"""A date in place of the clock's, so that equal runs give equal content; pages that rows of a few hundred bytes fill
well; and no waiting for the disk after every layer, as the file gets its name only when it is whole."""


@contextmanager
def _writing() -> Iterator[None]:
    """Let GDAL write as ``_OPTIONS`` say."""
    pyogrio.set_gdal_config_options(_OPTIONS)
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options(dict.fromkeys(_OPTIONS))


def _plain_columns(table: Any, name: str) -> Any:
    """The declared columns, typed so that missing is missing in every one."""
    fields = tuple(field for field in TABLES[name] if field.dtype != "geometry")
    columns = pd.DataFrame(table[[field.name for field in fields if field.name in table.columns]])
    return columns.astype({field.name: _TYPES[field.dtype] for field in fields if field.name in columns})


def _with_problems(table: Any, problems: Sequence[Mapping[str, str]], lots: Any) -> Any:
    """The problems table with more rows, each where its lot lies."""
    place = dict(zip(lots["lot_id"], lots.geometry, strict=True))
    rows = gpd.GeoDataFrame(
        pd.DataFrame(list(problems)), geometry=[place.get(row["feature"]) for row in problems], crs=table.crs
    )
    return conform(rows if table.empty else pd.concat([table, rows], ignore_index=True), TABLES["problems"])


def table_frames(
    result: Screening, problems: Sequence[Mapping[str, str]] = ()
) -> Iterator[tuple[str, Any, str | None]]:
    """Every table as it is written: its name, its rows in the output CRS, and its geometry type where it has one.

    Parameters
    ----------
    result
        The result of a run.
    problems
        Rows that other outputs add to the problems table, at the lots that their ``feature`` names.
    """
    for name in TABLES:
        if name not in result.tables:
            continue
        table = result.tables[name]
        if name == "problems" and problems:
            table = _with_problems(table, problems, result.tables["lots"])
        frame, kind = _plain_columns(table, name), GEOMETRY_TYPES.get(name)
        if kind is not None:
            shapes = as_written(table.geometry.to_numpy(), kind, result.unit_m, _THINNED.get(name))
            frame = gpd.GeoDataFrame(frame, geometry=shapes, crs=result.output_crs)
        yield name, frame, kind


def write_geopackage(result: Screening, path: Path, problems: Sequence[Mapping[str, str]] = ()) -> Path:
    """Write every table of the result as a layer, with ``layer_styles`` rows for those that have a geometry.

    Parameters
    ----------
    result
        The result of a run.
    path
        Where to write.
    problems
        Rows that other outputs add to the problems layer, at the lots that their ``feature`` names.
    """
    with _writing():
        for name, frame, kind in table_frames(result, problems):
            placed = {} if kind is None else {"geometry_type": kind}
            pyogrio.write_dataframe(frame, path, layer=name, driver="GPKG", use_arrow=True, **placed)
        pyogrio.write_dataframe(
            layer_styles(result), path, layer="layer_styles", driver="GPKG", layer_options={"FID": "id"}
        )
    return path
