"""Every table in one GeoPackage, one geometry type a layer, styled for desktop GIS."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any, Final

import geopandas as gpd
import pandas as pd
import pyarrow as pa
import pyogrio
import shapely

from screening.fields import TABLES, conform
from screening.outputs.layer_styles import layer_styles
from screening.outputs.wkb import wkb_column
from screening.outputs.written_shapes import Thinning, fewer_corners, straight
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


def _written(
    result: Screening, problems: Sequence[Mapping[str, str]]
) -> Iterator[tuple[str, pd.DataFrame, pa.ChunkedArray | None]]:
    """Every table as it is written: its name, its columns, and its geometries where it has a place for them."""
    for name in TABLES:
        if name not in result.tables:
            continue
        table = result.tables[name]
        if name == "problems" and problems:
            table = _with_problems(table, problems, result.tables["lots"])
        shapes = None
        if name in GEOMETRY_TYPES:
            array = table.geometry.to_numpy()
            shapes = wkb_column(array, GEOMETRY_TYPES[name], result.unit_m, _THINNED.get(name))
        yield name, _plain_columns(table, name), shapes


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
    for name, columns, shapes in _written(result, problems):
        if shapes is None:
            yield name, columns, None
        else:
            geometry = shapely.from_wkb(shapes.to_numpy())
            yield name, gpd.GeoDataFrame(columns, geometry=geometry, crs=result.output_crs), GEOMETRY_TYPES[name]


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
    code = result.output_crs.to_epsg()
    crs = f"EPSG:{code}" if code else result.output_crs.to_wkt("WKT1_GDAL")
    with _writing():
        for name, columns, shapes in _written(result, problems):
            rows = pa.Table.from_pandas(columns, preserve_index=False)
            placed: dict[str, Any] = {}
            if shapes is not None:
                rows = rows.append_column("geometry", shapes)
                placed = {"geometry_name": "geometry", "geometry_type": GEOMETRY_TYPES[name], "crs": crs}
            pyogrio.write_arrow(rows, path, layer=name, driver="GPKG", **placed)
        pyogrio.write_dataframe(
            layer_styles(result), path, layer="layer_styles", driver="GPKG", layer_options={"FID": "id"}
        )
    return path
