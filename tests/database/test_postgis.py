"""A real PostgreSQL with PostGIS, read and written: ``python3 scripts/database.py run pytest -m database``."""

import json
import os

import geopandas as gpd
import pytest
from click.testing import CliRunner
from pandas.testing import assert_frame_equal

from screening.cli import screening
from screening.errors import BadInput
from screening.fields import TABLES
from screening.inputs import read_area
from screening.inputs.database import connected, read_database_table
from screening.outputs.database import refuse_full_schema, write_database
from tests.inputs.made_up import BASE, lots, write_area
from tests.outputs.made_up import make_screening

pytestmark = [
    pytest.mark.database,
    pytest.mark.skipif(
        "PGHOST" not in os.environ, reason="no server: python3 scripts/database.py run pytest -m database"
    ),
]

FROM_DATABASE = BASE.replace('file = "lots.gpkg"', 'database = "town.parcels"')


@pytest.fixture
def town():
    """A schema with the parcels, gone afterwards."""
    from sqlalchemy import text

    with connected() as connection:
        connection.execute(text("CREATE SCHEMA town"))
        lots().to_postgis("parcels", connection, schema="town")
        connection.commit()
    yield "town"
    with connected() as connection:
        connection.execute(text("DROP SCHEMA IF EXISTS town, results, other CASCADE"))
        connection.commit()


def test_lots_from_the_database_are_those_of_the_file(town, tmp_path) -> None:
    from_file = read_area(write_area(tmp_path)).area
    from_database = read_area(write_area(tmp_path, base=FROM_DATABASE)).area
    assert_frame_equal(from_database.layers["lots"], from_file.layers["lots"])
    assert from_database.layers["lots"]["lot_id"].tolist() == ["0002", "0010", "9"]


def test_the_run_record_names_the_table_and_its_rows_and_no_server(town, tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("PGPASSWORD", "made-up-secret")
    path = write_area(tmp_path, base=FROM_DATABASE)
    done = CliRunner().invoke(screening, ["run", str(path), "-o", str(tmp_path / "out"), "-q", "--database", "results"])
    assert done.exit_code == 0, done.output
    text = (tmp_path / "out" / "run.json").read_text(encoding="utf-8")
    hashed = json.loads(text)["inputs"]["database:town.parcels"]
    assert hashed.startswith("md5 of its rows: ")
    for secret in ("made-up-secret", os.environ["PGHOST"], os.environ["PGUSER"]):
        assert secret not in text
    lot_table = read_database_table("results.lots")
    assert lot_table["lot_id"].tolist() == ["0002", "0010", "9"]
    assert set(lot_table["verdict"]) <= {"approach", "test soil first", "look closer", "ruled out"}


def test_a_changed_row_changes_the_hash(town) -> None:
    from sqlalchemy import text

    from screening.inputs.database import table_hash

    before = table_hash("town.parcels")
    assert table_hash("town.parcels") == before
    with connected() as connection:
        connection.execute(text("UPDATE town.parcels SET road = 'Oak' WHERE parcel = '9'"))
        connection.commit()
    assert table_hash("town.parcels") != before


def test_every_table_comes_back_as_it_was_written(town) -> None:
    result = make_screening()
    written = write_database(result, "results")
    assert set(written) == {f"results.{name}" for name in result.tables}
    back = read_database_table("results.lots").sort_values("lot_id", ignore_index=True)
    there = result.tables["lots"]
    assert back.crs == result.output_crs
    assert back["lot_id"].tolist() == there["lot_id"].tolist()
    assert back["score"].astype("Int64").tolist() == there["score"].tolist()
    assert back.geometry.area.to_numpy() == pytest.approx(there.geometry.area.to_numpy(), abs=1e-6)
    assert set(back.columns) == {field.name for field in TABLES["lots"] if field.name in there.columns}


def test_a_full_schema_is_left_alone_unless_told(town) -> None:
    result = make_screening()
    write_database(result, "results")
    with pytest.raises(BadInput, match="holds tables of a run"):
        refuse_full_schema("results")
    write_database(result, "results", overwrite=True)


def test_a_write_that_fails_leaves_what_was_there(town, monkeypatch) -> None:
    result = make_screening()
    write_database(result, "results")

    def fails(*_: object, **__: object) -> None:
        raise OSError("made up")

    monkeypatch.setattr(gpd.GeoDataFrame, "to_postgis", fails)
    with pytest.raises(BadInput, match="made up"):
        write_database(result, "results", overwrite=True)
    monkeypatch.undo()
    assert len(read_database_table("results.lots")) == len(result.tables["lots"])


def test_a_table_that_is_not_there_is_named(town, tmp_path) -> None:
    path = write_area(tmp_path, base=FROM_DATABASE.replace("town.parcels", "town.nothing"))
    with pytest.raises(BadInput) as caught:
        read_area(path)
    assert "no table 'town.nothing'" in str(caught.value)


def test_a_server_that_is_not_there_is_told(monkeypatch) -> None:
    monkeypatch.setenv("PGHOST", "/nowhere/made-up")
    with pytest.raises(BadInput, match="cannot be written to"):
        refuse_full_schema("results")
