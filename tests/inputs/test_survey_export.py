import shutil
import zipfile

import pytest

from screening.inputs.findings import Findings
from screening.inputs.survey_export import check_joins, read_survey_export
from tests.inputs.made_up import spread, write_export, write_rows


def read(*paths, **said):
    findings = Findings()
    return read_survey_export([str(path) for path in paths], [path.name for path in paths], findings, **said), findings


def test_polygons_and_tables_are_joined_whole(tmp_path):
    export, findings = read(write_export(tmp_path / "e"))
    assert findings.faults == []
    assert export.polygons["mukey"].tolist() == ["1", "2", "1"]
    assert export.polygons["musym"].tolist() == ["Aa", "Ub", "Aa"]
    home = export.joins[0]
    assert (home.left, home.right, home.rows, home.matched, home.left_only) == ("polygons", "mapunit", 3, 3, ())
    assert {join.left: (join.matched, join.rows) for join in export.joins} == {
        "polygons": (3, 3),
        "component": (3, 3),
        "muaggatt": (2, 2),
        "chorizon": (1, 1),
    }


def test_several_areas_in_one_folder_in_several_and_zipped(tmp_path):
    write_export(tmp_path / "both" / "zz001")
    write_export(tmp_path / "both" / "zz002", area="zz002", first_key=51)
    archive = shutil.make_archive(str(tmp_path / "both"), "zip", tmp_path / "both")
    at_once, findings = read(tmp_path / "both")
    assert findings.faults == []
    one_by_one, _ = read(tmp_path / "both" / "zz001", tmp_path / "both" / "zz002")
    zipped, zip_findings = read(tmp_path / archive.rsplit("/", 1)[-1])
    assert zip_findings.faults == []
    for export in (at_once, one_by_one, zipped):
        assert export.polygons["mukey"].tolist() == ["1", "2", "1", "51", "52", "51"]
        assert export.tables["mapunit"]["mukey"].tolist() == ["1", "2", "51", "52"]
        assert len(export.tables["component"]) == 6
        assert all(join.matched == join.rows for join in export.joins)


def test_the_same_area_twice_counts_once(tmp_path):
    write_export(tmp_path / "a")
    write_export(tmp_path / "b")
    export, findings = read(tmp_path / "a", tmp_path / "b", spatial=False)
    assert export.tables["mapunit"]["mukey"].tolist() == ["1", "2"]
    assert export.polygons is None
    assert findings.notes == []


def test_a_key_on_two_rows_is_told_and_the_first_stands(tmp_path):
    folder = write_export(tmp_path / "e")
    path = folder / "tabular" / "mapunit.txt"
    rows = [
        spread(24, {0: symbol, 1: name, -2: "7", -1: key})
        for symbol, name, key in (("Aa", "First", "1"), ("Ab", "Second", "1"), ("Ub", "Urban land", "2"))
    ]
    write_rows(path, rows)
    export, findings = read(folder)
    assert export.tables["mapunit"]["muname"].tolist() == ["First", "Urban land"]
    assert "1 values of mukey stand on several rows (1)" in findings.notes[0].text


def test_keys_left_over_are_counted_and_named(tmp_path):
    folder = write_export(tmp_path / "e")
    write_rows(folder / "tabular" / "mapunit.txt", [spread(24, {1: "Other", -1: key}) for key in ("2", "3")])
    export, _ = read(folder)
    joins = {join.left: join for join in export.joins}
    assert joins["polygons"].matched == 1
    assert joins["polygons"].left_only == ("1",)
    assert joins["polygons"].unused == 1
    assert joins["component"].left_only == ("1",)
    doubled = check_joins(export.polygons, {"mapunit": export.tables["component"]})
    assert doubled[0].doubled == ("1",)


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda folder: shutil.rmtree(folder / "tabular"), "no tabular part"),
        (lambda folder: shutil.rmtree(folder / "spatial"), "no map unit polygons"),
    ],
)
def test_half_an_export_is_told(tmp_path, spoil, said):
    folder = write_export(tmp_path / "e")
    spoil(folder)
    export, findings = read(folder)
    assert export is None
    assert said in findings.faults[0].what


def test_what_is_no_export_is_told(tmp_path):
    (tmp_path / "e.zip").write_text("no zip")
    export, findings = read(tmp_path / "e.zip")
    assert export is None
    assert "cannot be opened" in findings.faults[0].what
    with zipfile.ZipFile(tmp_path / "empty.zip", "w") as archive:
        archive.writestr("readme.txt", "nothing")
    assert "no tabular part" in read(tmp_path / "empty.zip")[1].faults[0].what
