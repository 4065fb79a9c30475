"""A survey in a database holds what its export holds."""

import pandas as pd
import pyogrio
import pytest
import shapely

from screening.inputs.findings import Findings
from screening.inputs.survey_database import is_survey_database
from screening.inputs.survey_export import read_survey_export
from tests.inputs.made_up import write_export


def read(path, **said):
    findings = Findings()
    return read_survey_export([str(path)], [path.name], findings, **said), findings


def write_database(folder, ending, *, leave_out=()):
    """The made-up export as layers of a database, keys of the component table as numbers, names in capitals."""
    export, _ = read(write_export(folder / "e"))
    path = folder / f"survey{ending}"
    driver = "OpenFileGDB" if ending == ".gdb" else "GPKG"
    tables = {name: table for name, table in export.tables.items() if name not in leave_out}
    if "MUPOLYGON" not in leave_out:
        polygons = export.polygons.rename(columns={"mukey": "MUKEY", "musym": "MUSYM"})
        pyogrio.write_dataframe(polygons, path, layer="MUPOLYGON", driver=driver, promote_to_multi=True)
    for name, table in tables.items():
        rows = pd.DataFrame(table)
        if name == "component":
            rows = rows.assign(mukey=rows["mukey"].astype(int))
        rows = rows.rename(columns=str.upper) if name == "mapunit" else rows
        if ending == ".gdb":  # its whole numbers come as floats
            rows = rows.astype(dict.fromkeys(rows.select_dtypes("integer").columns, float))
        pyogrio.write_dataframe(rows, path, layer=name, driver=driver, append=path.exists())
    return path, export


@pytest.mark.parametrize("ending", [".gdb", ".gpkg"])
def test_tables_and_polygons_are_those_of_the_export(tmp_path, ending):
    path, export = write_database(tmp_path, ending)
    found, findings = read(path)
    assert findings.faults == []
    assert set(found.tables) == set(export.tables)
    for name, table in export.tables.items():
        pd.testing.assert_frame_equal(found.tables[name], table, check_dtype=False, check_column_type=False)
    assert found.polygons["mukey"].tolist() == export.polygons["mukey"].tolist()
    assert shapely.area(found.polygons.geometry.to_numpy()) == pytest.approx(
        shapely.area(export.polygons.geometry.to_numpy()), rel=1e-6
    )
    assert [(join.left, join.matched) for join in found.joins] == [(join.left, join.matched) for join in export.joins]


def test_without_polygons_the_tables_are_enough_beside_others(tmp_path):
    path, _ = write_database(tmp_path, ".gpkg", leave_out=("MUPOLYGON",))
    found, findings = read(path, spatial=False)
    assert findings.faults == []
    assert found.polygons is None
    assert len(found.tables["component"]) == 3
    _, findings = read(path)
    assert "no map unit polygons" in findings.faults[0].what


def test_a_database_of_something_else_is_told(tmp_path):
    path, _ = write_database(tmp_path, ".gpkg", leave_out=("mapunit", "muaggatt"))
    _, findings = read(path)
    assert "no table mapunit or muaggatt" in findings.faults[0].what
    assert "component" in findings.faults[0].mend
    (tmp_path / "odd.gpkg").write_text("nothing")
    _, findings = read(tmp_path / "odd.gpkg")
    assert "cannot be opened" in findings.faults[0].what


def test_what_counts_as_a_database():
    assert is_survey_database("soils/state.GDB")
    assert is_survey_database("state.gdb.zip")
    assert not is_survey_database("export")
    assert not is_survey_database("export.zip")
