"""Read a layer from a table of a PostGIS database.

Which server, database, user and password come from the environment only (``PGHOST``, ``PGPORT``, ``PGDATABASE``,
``PGUSER``, ``PGPASSWORD``, ``PGSERVICE``, ...: the variables that every PostgreSQL client knows); the area file names
no more than the table. Nothing of them is kept anywhere.
"""

from __future__ import annotations

import re
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["DATABASE", "MISSING", "connected", "quoted", "read_database_table", "table_hash", "table_name"]

DATABASE: Final = "database:"
"""What the name of a table begins with where names of files stand."""
MISSING: Final = (
    "Reading from or writing to a database needs more packages: pip install 'rain-garden-screening[database]'"
)
_PLAIN: Final = re.compile(r"[^\W\d][\w$]*(\.[^\W\d][\w$]*)?")


def table_name(text: str) -> str:
    """A table, with its schema where it is not the usual one, as the area file may name it.

    Raises
    ------
    ValueError
        When it is anything but ``table`` or ``schema.table``: addresses and passwords belong in the environment.
    """
    if not _PLAIN.fullmatch(text):
        raise ValueError(
            "write table or schema.table; server, user and password come from the environment (PGHOST, ...)"
        )
    return text


def quoted(name: str) -> str:
    """A table's name for SQL."""
    return ".".join(f'"{part}"' for part in table_name(name).split("."))


@contextmanager
def connected() -> Iterator[Any]:
    """A connection to the database that the environment names, closed afterwards.

    Raises
    ------
    OSError
        When the packages for it are missing, or the server does not answer or refuses.
    """
    try:
        import sqlalchemy
    except ImportError as error:
        raise OSError(MISSING) from error
    try:
        engine = sqlalchemy.create_engine("postgresql+psycopg://", poolclass=sqlalchemy.NullPool)
        with engine.connect() as connection:
            yield connection
    except ImportError as error:
        raise OSError(MISSING) from error
    except sqlalchemy.exc.SQLAlchemyError as error:
        raise OSError(f"the database says: {_first_line(error)}") from error


def _first_line(error: Exception) -> str:
    """What went wrong, without the statement and its values."""
    said = str(getattr(error, "orig", error)).strip().splitlines()
    return said[0] if said else type(error).__name__


def read_database_table(name: str) -> Any:
    """A table with its geometry.

    Returns
    -------
    geopandas.GeoDataFrame
        Every column, the geometry's CRS from the database.

    Raises
    ------
    OSError
        As ``connected``, or when the table has no geometry.
    """
    import geopandas as gpd
    from sqlalchemy import text

    schema, _, table = name.rpartition(".")
    told = text(
        "SELECT f_geometry_column FROM geometry_columns WHERE f_table_name = :name "
        "AND (:place = '' OR f_table_schema = :place) ORDER BY f_table_schema, f_geometry_column"
    )
    with connected() as connection:
        found = connection.execute(told, {"name": table, "place": schema}).scalars().all()
        if not found:
            raise OSError(f"the database has no table {name!r} with a geometry that this user may read")
        return gpd.read_postgis(
            text(f'SELECT * FROM {quoted(name)} AS t ORDER BY t::text COLLATE "C"'), connection, geom_col=found[0]
        )


def table_hash(name: str) -> str:
    """MD5 over the rows of a table, whatever their order, as the database itself reckons it."""
    from sqlalchemy import text

    rows = f"SELECT md5(t::text) AS row FROM {quoted(name)} AS t"
    with connected() as connection:
        found = connection.execute(
            text(f"SELECT md5(coalesce(string_agg(row, '' ORDER BY row), '')) FROM ({rows}) AS r")
        )
        return f"md5 of its rows: {found.scalar()}"
