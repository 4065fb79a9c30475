"""Replies of the soil survey's data service, saved to files; rows made up.

Layout (public clients of the service agree): {"Table": [names, metadata, row, ...]}; without METADATA in the asked
format rows start at index 1; without a match no Table; at most 100,000 rows at once.
"""

import json

import geopandas as gpd
import pytest
from shapely.geometry import box

from screening.inputs import survey_reply
from screening.inputs.findings import Findings
from screening.inputs.reading import inspect_area
from screening.inputs.survey_reply import read_survey_reply, reply_rows
from screening.rules import Rules
from screening.soils.map_units import map_units
from tests.inputs.made_up import NORTH, UTM, WEST, write_area

NAMES = ["MUKEY", "comppct_r", "compname", "hydgrp", "cokey"]
METADATA = [
    f"ColumnOrdinal={at},ColumnSize=4,NumericPrecision=10,NumericScale=255,ProviderType=Int,IsLong=False,DataTypeName=int"
    for at in range(5)
]
ROWS = [["1", "85", "Loam", "B", "11"], ["1", "15", "Clay", None, "12"], ["2", "100", "Urban land", " ", "13"]]


def read(folder, said, name="component.json"):
    (folder / name).write_text(json.dumps(said), encoding="utf-8")
    findings = Findings()
    return read_survey_reply(str(folder / name), name, findings), findings


@pytest.mark.parametrize("head", [[NAMES, METADATA], [NAMES]])
def test_a_table_with_and_without_metadata(tmp_path, head):
    tables, findings = read(tmp_path, {"Table": [*head, *ROWS]})
    assert findings.faults == []
    table = tables["component"]
    assert list(table.columns) == ["mukey", "comppct_r", "compname", "hydgrp", "cokey"]
    assert table["mukey"].tolist() == ["1", "1", "2"]
    assert table["comppct_r"].tolist() == [85, 15, 100]
    assert table["hydgrp"].isna().tolist() == [False, True, True]
    units = map_units(tables, Rules())
    assert units.loc["1", "hsg"] == "B"
    assert units.loc["2", "hsg"] == "unknown"


def test_numbers_may_come_as_numbers():
    rows, names = reply_rows(json.dumps({"Table": [["mukey", "wtdepannmin"], [1, 46.0]]}).encode())
    assert (names, rows.values.tolist()) == (["mukey", "wtdepannmin"], [["1", "46.0"]])


def test_nothing_matched(tmp_path):
    tables, findings = read(tmp_path, {})
    assert (tables, findings.faults) == ({}, [])
    assert "nothing in the survey matched" in findings.notes[0].text
    empty, findings = read(tmp_path, {"Table": [NAMES, METADATA]})
    assert len(empty["component"]) == 0
    assert findings.faults == []


def test_a_reply_cut_short_is_told(tmp_path, monkeypatch):
    assert survey_reply.REPLY_ROWS_MOST == 100_000
    monkeypatch.setattr(survey_reply, "REPLY_ROWS_MOST", 3)
    assert "as many as the service gives" in read(tmp_path, {"Table": [NAMES, METADATA, *ROWS]})[1].notes[0].text
    assert read(tmp_path, {"Table": [NAMES, METADATA, *ROWS[:2]]})[1].notes == []


@pytest.mark.parametrize(
    ("said", "name", "what"),
    [
        ([1], "component.json", "no JSON object"),
        ({"Error": "bad query"}, "component.json", "no Table; it says: Error"),
        ({"Table": []}, "component.json", "no list of rows"),
        ({"Table": [["mukey"], ["1", "2"]]}, "component.json", "row 1 has 2 values for 1 columns"),
        ({"Table": [["mukey"], ["1"]]}, "component.json", "lacks comppct_r, compname, hydgrp, cokey"),
        ({"Table": [NAMES, *ROWS]}, "reply.json", "'reply' is none that is read"),
    ],
)
def test_what_is_no_reply_is_one_clear_fault(tmp_path, said, name, what):
    tables, findings = read(tmp_path, said, name)
    assert tables == {}
    assert len(findings.faults) == 1
    assert what in str(findings.faults[0])


def write_keys(folder):
    shapes = [box(WEST, NORTH - 40, WEST + 30, NORTH), box(WEST + 30, NORTH - 40, WEST + 60, NORTH)]
    gpd.GeoDataFrame({"key": [1, 2]}, geometry=shapes, crs=UTM).to_file(folder / "s.gpkg")


def test_replies_beside_polygons_with_keys(tmp_path):
    write_keys(tmp_path)
    read(tmp_path, {"Table": [NAMES, METADATA, *ROWS]})
    summary = ["mukey", "brockdepmin", "wtdepannmin", "hydgrpdcd"]
    read(tmp_path, {"Table": [summary, ["1", None, "46", "B"], ["2", None, None, None]]}, "muaggatt.json")
    more = '[soils]\nfile = "s.gpkg"\nmukey = "key"\nexport = ["component.json", "muaggatt.json"]\n'
    reading = inspect_area(write_area(tmp_path, more))
    assert reading.faults == ()
    soils = reading.raw_soils
    assert soils.way == "survey"
    assert set(soils.tables) == {"component", "muaggatt"}
    assert (soils.joins[0].right, soils.joins[0].matched) == ("muaggatt", 2)
    assert "component.json" in reading.hashes


def test_replies_alone_have_no_polygons(tmp_path):
    read(tmp_path, {"Table": [NAMES, METADATA, *ROWS]})
    reading = inspect_area(write_area(tmp_path, '[soils]\nexport = "component.json"\n'))
    assert ["no map unit polygons" in str(fault) for fault in reading.faults] == [True]
