"""Layout of the survey export as its public loaders have it: pipes, quotes, no header, columns by position."""

from screening.inputs.findings import Findings
from screening.inputs.survey_tables import KEYS, TABLES, read_survey_tables
from tests.inputs.made_up import write_export


def readers(folder):
    return {path.name.lower(): path.read_bytes for path in (folder / "tabular").iterdir()}


def read(folder):
    findings = Findings()
    return read_survey_tables(readers(folder), findings, file="export"), findings


def test_known_positions_name_the_columns(tmp_path):
    tables, findings = read(write_export(tmp_path / "e"))
    assert findings.faults == []
    assert sorted(tables) == ["chorizon", "component", "mapunit", "muaggatt"]
    assert tables["mapunit"]["muname"].tolist() == ['Made-up loam, "flat" part', "Urban land"]
    component = tables["component"]
    assert component["comppct_r"].tolist() == [85, 15, 100]
    assert component["majcompflag"].tolist() == ["Yes", "No", "Yes"]
    assert component["hydgrp"].isna().tolist() == [False, True, True]
    assert component["mukey"].tolist() == ["1", "1", "2"]
    assert tables["chorizon"]["ksat_r"].tolist() == [9.17]
    assert tables["muaggatt"]["wtdepannmin"].isna().tolist() == [False, True]


def test_the_exports_own_names_go_before_positions(tmp_path):
    by_position, _ = read(write_export(tmp_path / "a"))
    by_name, findings = read(write_export(tmp_path / "b", named=True))
    assert findings.faults == []
    for column in ("comppct_r", "compname", "majcompflag", "hydgrp", "mukey", "cokey"):
        assert by_name["component"][column].equals(by_position["component"][column])


def test_columns_added_before_the_keys_do_no_harm(tmp_path):
    folder = write_export(tmp_path / "e")
    path = folder / "tabular" / "muaggatt.txt"
    lines = [line.split("|") for line in path.read_text().splitlines()]
    path.write_text("".join("|".join([*row[:-1], "new", row[-1]]) + "\n" for row in lines))
    tables, findings = read(folder)
    assert findings.faults == []
    assert tables["muaggatt"]["mukey"].tolist() == ["1", "2"]
    assert tables["muaggatt"]["hydgrpdcd"].tolist()[0] == "B"


def test_names_that_do_not_fit_give_way_to_positions(tmp_path):
    folder = write_export(tmp_path / "e")
    (folder / "tabular" / "mstabcol.txt").write_text('"mapunit"|1|"musym"|"x"\n"mapunit"|2|"muname"|"x"\n')
    tables, findings = read(folder)
    assert tables["mapunit"]["mukey"].tolist() == ["1", "2"]
    assert "24 columns, mstabcol.txt names 2" in findings.notes[0].text


def test_an_empty_table_is_there_with_its_columns(tmp_path):
    folder = write_export(tmp_path / "e")
    (folder / "tabular" / "crstrcts.txt").write_text("")
    tables, _ = read(folder)
    assert len(tables["corestrictions"]) == 0
    assert {"reskind", "resdept_r", "cokey"} <= set(tables["corestrictions"].columns)


def test_text_over_lines_and_old_bytes(tmp_path):
    folder = write_export(tmp_path / "e")
    path = folder / "tabular" / "mapunit.txt"
    path.write_bytes(path.read_bytes().replace(b"Urban land", "Größe\nland".encode("cp1252")))
    tables, findings = read(folder)
    assert findings.faults == []
    assert tables["mapunit"]["muname"].tolist()[1] == "Größe\nland"


def test_a_table_too_narrow_is_told(tmp_path):
    folder = write_export(tmp_path / "e")
    (folder / "tabular" / "comp.txt").write_text('|85||"Loam"\n')
    tables, findings = read(folder)
    assert "component" not in tables
    assert "The survey table component lacks" in findings.faults[0].what
    assert "hydgrp" in findings.faults[0].what


def test_ragged_lines_are_told(tmp_path):
    folder = write_export(tmp_path / "e")
    path = folder / "tabular" / "chorizon.txt"
    path.write_text("a|b\n" + "|" * 200 + "\n")
    _, findings = read(folder)
    assert "chorizon.txt cannot be read" in findings.faults[0].what


def test_keys_are_of_tables_that_are_read():
    assert set(KEYS) <= set(TABLES)
