"""Read a soil survey from a database file: map unit polygons and tables as layers of a geodatabase or GeoPackage.

The layers are those of the survey's own geodatabases: ``MUPOLYGON`` and the tables by their standard names; polygons
may be called ``soilmu_a`` too, as the export's shapefile. Columns have their standard names, in any case.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import geopandas as gpd
import pandas as pd
import pyogrio

from screening.inputs.columns import as_text
from screening.inputs.findings import Findings
from screening.inputs.survey_tables import TABLES, named_table
from screening.inputs.vector_file import Wanted, read_vector

__all__ = ["is_survey_database", "read_survey_database"]

_ENDINGS: Final = (".gdb", ".gdb.zip", ".gpkg", ".sqlite")
_POLYGON_LAYERS: Final = ("mupolygon", "soilmu_a")


def is_survey_database(path: str) -> bool:
    """Whether a path names a database rather than an export's folder."""
    return path.lower().rstrip("/").endswith(_ENDINGS)


def read_survey_database(
    path: str, name: str, findings: Findings, *, spatial: bool
) -> tuple[dict[str, pd.DataFrame], list[gpd.GeoDataFrame]]:
    """Read the tables of a survey database, and its map unit polygons.

    Parameters
    ----------
    path, name
        The database, and how to name it to people.
    findings
        Where faults go.
    spatial
        Whether the polygons are wanted.

    Returns
    -------
    tables
        As ``survey_tables.read_survey_tables`` gives them.
    polygons
        ``mukey``, ``musym`` and geometry, one frame a layer; none when not wanted or after a fault.
    """
    try:
        layers = [str(layer) for layer, _ in pyogrio.list_layers(Path(path))]
    except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as error:
        findings.fault("The survey database cannot be opened", f"It says: {error}", file=name, layer="soils")
        return {}, []
    by_name = {layer.lower(): layer for layer in layers}
    tables: dict[str, pd.DataFrame] = {}
    for table in TABLES:
        if table in by_name:
            rows = pyogrio.read_dataframe(path, layer=by_name[table], read_geometry=False)
            found = named_table(table, *_as_text(pd.DataFrame(rows)), findings, f"{name}/{by_name[table]}")
            if found is not None:
                tables[table] = found
    if not {"mapunit", "muaggatt"} & set(by_name):
        findings.fault(
            "The survey database has no table mapunit or muaggatt",
            f"It holds: {', '.join(sorted(layers)) or 'nothing'}",
            file=name,
            layer="soils",
        )
    return tables, _polygons(path, name, by_name, findings) if spatial else []


def _as_text(rows: pd.DataFrame) -> tuple[pd.DataFrame, list[str]]:
    """Rows as the text of an export, missing where empty, and their columns in lower case."""
    columns: dict[int, Any] = {}
    for number, column in enumerate(rows.columns):
        words = as_text(rows[column])
        columns[number] = words.where(words.notna() & (words.str.strip() != ""), None)
    return pd.DataFrame(columns), [str(column).lower() for column in rows.columns]


def _polygons(path: str, name: str, by_name: dict[str, str], findings: Findings) -> list[gpd.GeoDataFrame]:
    found = [layer for lower, layer in sorted(by_name.items()) if lower.startswith(_POLYGON_LAYERS)]
    if not found:
        findings.fault(
            "The survey database has no map unit polygons (MUPOLYGON)",
            "Give polygons with mukey as file",
            file=name,
            layer="soils",
        )
    frames = []
    for layer in found:
        fields = [str(field) for field in pyogrio.read_info(path, layer=layer)["fields"]]
        columns = {field.lower(): field for field in fields if field.lower() in ("mukey", "musym")}
        frame = read_vector(path, f"{name}/{layer}", Wanted("soils", columns, layer=layer), findings)
        if frame is not None and "mukey" in frame.columns:
            frames.append(frame)
        elif frame is not None:
            findings.fault(
                "The map unit polygons have no column MUKEY",
                f"It has: {', '.join(fields)}",
                file=f"{name}/{layer}",
                layer="soils",
            )
    return frames
