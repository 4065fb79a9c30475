"""Every table into a schema of a PostGIS database, all of them or none.

Server, user and password come from the environment, as for reading (``inputs.database``); nothing of them is kept.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import geopandas as gpd
import pandas as pd

from screening.errors import BadInput, Fault
from screening.fields import TABLES
from screening.inputs.database import connected, quoted, table_name
from screening.outputs.geopackage import table_frames
from screening.result import Screening

__all__ = ["refuse_full_schema", "write_database"]


def refuse_full_schema(schema: str, *, overwrite: bool = False) -> None:
    """See, before anything is worked out, that the database answers and that the schema may be written to.

    Raises
    ------
    BadInput
        When it is no schema's name, the database cannot be reached, or it holds tables of a run and ``overwrite`` is
        False.
    """
    try:
        table_name(schema)
        with connected() as connection:
            there = _tables_there(connection, schema)
    except (OSError, ValueError) as error:
        raise BadInput([Fault(f"Schema {schema!r} cannot be written to", f"It says: {error}")]) from error
    if there and not overwrite:
        what = f"Schema {schema!r} of the database holds tables of a run: {', '.join(there[:3])}"
        raise BadInput([Fault(what, "Name another schema, or --overwrite")])


def _tables_there(connection: Any, schema: str) -> list[str]:
    """Tables of the schema that have names of ours."""
    from sqlalchemy import inspect

    return sorted(set(inspect(connection).get_table_names(schema=schema)) & set(TABLES))


def write_database(
    result: Screening, schema: str, problems: Sequence[Mapping[str, str]] = (), *, overwrite: bool = False
) -> list[str]:
    """Write the tables in one transaction.

    Parameters
    ----------
    result
        The result of a run.
    schema
        Schema to write into, made when it is not there; tables in it that are not a run's stay.
    problems
        Rows that other outputs add to the problems table.
    overwrite
        Replace tables of an earlier run.

    Returns
    -------
    list of str
        The tables written, as ``schema.table``.

    Raises
    ------
    BadInput
        As ``refuse_full_schema``, or when the database refuses.
    """
    refuse_full_schema(schema, overwrite=overwrite)
    try:
        with connected() as connection:
            return _write(connection, result, schema, problems)
    except OSError as error:
        raise BadInput([Fault(f"Schema {schema!r} cannot be written to", f"It says: {error}")]) from error


def _write(connection: Any, result: Screening, schema: str, problems: Sequence[Mapping[str, str]]) -> list[str]:
    from sqlalchemy import text

    connection.execute(text(f"CREATE SCHEMA IF NOT EXISTS {quoted(schema)}"))
    for name in _tables_there(connection, schema):
        connection.execute(text(f"DROP TABLE {quoted(schema)}.{quoted(name)}"))
    written = []
    for name, frame, kind in table_frames(result, problems):
        if kind is not None and frame.geometry.isna().all():
            _write_without_places(connection, frame, name, schema, kind)
        elif isinstance(frame, gpd.GeoDataFrame):
            frame.to_postgis(name, connection, schema=schema, if_exists="fail", index=False)
        else:
            frame.to_sql(name, connection, schema=schema, if_exists="fail", index=False)
        written.append(f"{schema}.{name}")
    connection.commit()
    return written


def _write_without_places(connection: Any, frame: Any, name: str, schema: str, kind: str) -> None:
    """A table whose rows have no geometry, if it has any rows, with the column for it all the same."""
    from geoalchemy2 import Geometry

    srid = frame.crs.to_epsg() or 0
    plain = pd.DataFrame(frame.drop(columns="geometry")).assign(geometry=None)
    column = Geometry(kind.upper(), srid=srid, spatial_index=False)
    plain.to_sql(name, connection, schema=schema, if_exists="fail", index=False, dtype={"geometry": column})
