"""Every table in one GeoPackage, one geometry type a layer, styled for desktop GIS."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import shapely

from screening.fields import TABLES, conform
from screening.outputs.layer_styles import layer_styles
from screening.outputs.output_crs import in_output_crs
from screening.result import Screening

__all__ = ["GEOMETRY_TYPES", "fixed_date", "write_geopackage"]

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

_DATE: Final = "2000-01-01T00:00:00.000Z"
"""Stands in for the time of writing, so that equal runs give equal content."""


@contextmanager
def fixed_date() -> Iterator[None]:
    """Let GDAL write a fixed date instead of the clock's."""
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": _DATE})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


def _one_type(shapes: Any, geometry_type: str) -> Any:
    """Geometries of one type: parts promoted to multi, and a point inside whatever a point layer is given."""
    out = np.array(shapes, dtype=object)
    for number, shape in enumerate(out):
        if shape is None or shape.is_empty:
            out[number] = None
        elif geometry_type == "Point":
            out[number] = shape if shape.geom_type == "Point" else shape.representative_point()
        elif geometry_type == "MultiPolygon":
            out[number] = shapely.MultiPolygon(_parts(shape, "Polygon"))
        else:
            out[number] = shapely.MultiLineString(_parts(shape, "LineString"))
    return out


def _parts(shape: Any, kind: str) -> list[Any]:
    """Single parts of one kind, at any depth."""
    if shape.geom_type == kind:
        return [shape]
    return [part for inner in getattr(shape, "geoms", ()) for part in _parts(inner, kind)]


def _plain_columns(table: Any, name: str) -> Any:
    """The declared columns, flags and whole numbers kept nullable, text as objects with None for missing."""
    columns = [field.name for field in TABLES[name] if field.name in table.columns and field.dtype != "geometry"]
    out = pd.DataFrame(table[columns])
    for field in TABLES[name]:
        if field.name in out and field.dtype == "text":
            out[field.name] = out[field.name].astype(object).where(out[field.name].notna(), None)
        elif field.name in out and field.dtype == "number":
            out[field.name] = out[field.name].astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    return out


def _with_problems(table: Any, problems: Sequence[Mapping[str, str]], lots: Any) -> Any:
    """The problems table with more rows, each where its lot lies."""
    place = dict(zip(lots["lot_id"], lots.geometry, strict=True))
    rows = gpd.GeoDataFrame(
        pd.DataFrame(list(problems)), geometry=[place.get(row["feature"]) for row in problems], crs=table.crs
    )
    return conform(rows if table.empty else pd.concat([table, rows], ignore_index=True), TABLES["problems"])


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
    with fixed_date():
        for name in TABLES:
            if name not in result.tables:
                continue
            table = result.tables[name]
            if name == "problems" and problems:
                table = _with_problems(table, problems, result.tables["lots"])
            kind = GEOMETRY_TYPES.get(name)
            if kind is None:
                pyogrio.write_dataframe(_plain_columns(table, name), path, layer=name, driver="GPKG", append=False)
                continue
            shapes = _one_type(in_output_crs(table, result).geometry.array, kind)
            frame = gpd.GeoDataFrame(_plain_columns(table, name), geometry=shapes, crs=result.output_crs)
            pyogrio.write_dataframe(frame, path, layer=name, driver="GPKG", geometry_type=kind, SPATIAL_INDEX="YES")
        pyogrio.write_dataframe(
            layer_styles(result), path, layer="layer_styles", driver="GPKG", layer_options={"FID": "id"}
        )
    return path
