"""Every table in one GeoPackage, one geometry type a layer, styled for desktop GIS."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any, Final

import geopandas as gpd
import pandas as pd
import pyarrow as pa

from screening.fields import TABLES, conform
from screening.outputs.layer_process import layers_here, layers_in_a_process
from screening.outputs.layer_styles import layer_styles
from screening.outputs.well_known_binary import as_binary
from screening.outputs.written_shapes import Thinning, as_written, fewer_corners, straight
from screening.result import RANKED, Screening

__all__ = ["GEOMETRY_TYPES", "OUTLINE_M", "Problems", "table_frames", "write_geopackage"]

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
    "catchments": "MultiPolygon",
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

_GEOMETRY: Final = "geometry"
_ARROW: Final = {"text": pa.large_string(), "number": pa.float64(), "integer": pa.int64(), "flag": pa.bool_()}

_ROWS: Final = 8192
"""Rows told to GDAL at a time: their geometries and bytes fit into memory that was just used for those before."""

_MANY: Final = 50_000
"""Rows of all tables from which they are written by a process of their own, which takes a moment to start."""

Problems = Sequence[Mapping[str, str]]
"""Rows of the problems table, each a value by column."""


def _plain_columns(table: Any, name: str) -> Any:
    """The declared columns, typed so that missing is missing in every one."""
    fields = tuple(field for field in TABLES[name] if field.dtype != "geometry")
    columns = pd.DataFrame(table[[field.name for field in fields if field.name in table.columns]])
    kinds = {field.name: _TYPES[field.dtype] for field in fields if field.name in columns}
    other = {column: kind for column, kind in kinds.items() if columns.dtypes[column] != kind}
    return columns.astype(other) if other else columns


def _with_problems(table: Any, problems: Problems, lots: Any) -> Any:
    """The problems table with more rows, each where its lot lies."""
    place = dict(zip(lots["lot_id"], lots.geometry, strict=True))
    rows = gpd.GeoDataFrame(
        pd.DataFrame(list(problems)), geometry=[place.get(row["feature"]) for row in problems], crs=table.crs
    )
    return conform(rows if table.empty else pd.concat([table, rows], ignore_index=True), TABLES["problems"])


def _tables(result: Screening, problems: Problems) -> Iterator[tuple[str, Any]]:
    """Every table that the result has, in order."""
    for name in (name for name in TABLES if name in result.tables):
        table = result.tables[name]
        more = problems if name == "problems" else ()
        yield name, _with_problems(table, more, result.tables["lots"]) if more else table


def table_frames(result: Screening, problems: Problems = ()) -> Iterator[tuple[str, Any, str | None]]:
    """Every table as it is written: its name, its rows in the output CRS, and its geometry type where it has one.

    Parameters
    ----------
    result
        The result of a run.
    problems
        Rows that other outputs add to the problems table, at the lots that their ``feature`` names.
    """
    for name, table in _tables(result, problems):
        frame, kind = _plain_columns(table, name), GEOMETRY_TYPES.get(name)
        if kind is not None:
            shapes = as_written(table.geometry.to_numpy(), kind, result.unit_m, _THINNED.get(name))
            frame = gpd.GeoDataFrame(frame, geometry=shapes, crs=result.output_crs)
        yield name, frame, kind


def _stream(table: Any, name: str, unit_m: float) -> pa.RecordBatchReader:
    """The rows of a table as Arrow, some at a time, geometries as well-known binary."""
    columns = _plain_columns(table, name)
    plain = pa.schema([(field.name, _ARROW[field.dtype]) for field in TABLES[name] if field.name in columns])
    shapes = table.geometry.to_numpy() if name in GEOMETRY_TYPES else None
    schema = plain if shapes is None else plain.append(pa.field(_GEOMETRY, pa.large_binary()))

    def batches() -> Iterator[pa.RecordBatch]:
        for first in range(0, len(table), _ROWS):
            rows = slice(first, first + _ROWS)
            batch = pa.Table.from_pandas(columns.iloc[rows], plain, preserve_index=False, nthreads=1)
            if shapes is not None:
                binary = as_binary(shapes[rows], GEOMETRY_TYPES[name], unit_m, _THINNED.get(name))
                batch = batch.append_column(_GEOMETRY, binary)
            yield from batch.replace_schema_metadata().combine_chunks().to_batches()

    return pa.RecordBatchReader.from_batches(schema, batches())


def write_geopackage(
    result: Screening, path: Path, rest: Callable[[], tuple[Screening, Problems]] | None = None
) -> Path:
    """Write every table of the result as a layer, with ``layer_styles`` rows for those that have a geometry.

    Lots are the first layer, which readers open unless told which.

    Parameters
    ----------
    result
        The result of a run as far as its lots are looked at: ranked or not, its tables that ranking leaves as they are
        are written at once.
    path
        Where to write.
    rest
        Asked when those are written: the whole result, and rows that other outputs add to the problems layer, at the
        lots that their ``feature`` names. None where the result is whole already, with nothing to add.

    Raises
    ------
    StageFailed
        When a process of its own cannot write the file.
    """
    epsg = result.output_crs.to_epsg()
    crs = f"EPSG:{epsg}" if epsg else result.output_crs.to_wkt("WKT1_GDAL")
    many = sum(len(result.tables[name]) for name in TABLES if name in result.tables) >= _MANY and sys.executable
    with (layers_in_a_process if many else layers_here)(path) as write:

        def layer(name: str, table: Any, **how: Any) -> None:
            kind = GEOMETRY_TYPES.get(name)
            placed = {} if kind is None else {"geometry_type": kind, "geometry_name": _GEOMETRY, "crs": crs}
            write(_stream(table, name, result.unit_m), {"layer": name, **placed, **how})

        layer("lots", result.tables["lots"].iloc[:0])
        for name, table in _tables(result, ()):
            if name not in RANKED:
                layer(name, table)
        whole, problems = rest() if rest is not None else (result, ())
        for name, table in _tables(whole, problems):
            if name in RANKED:
                layer(name, table, append=name == "lots")
        styles = pa.Table.from_pandas(layer_styles(whole), preserve_index=False).to_reader()
        write(styles, {"layer": "layer_styles", "layer_options": {"FID": "id"}})
    return path
