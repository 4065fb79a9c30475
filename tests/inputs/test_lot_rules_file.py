import pandas as pd
import pytest

from screening.inputs import inspect_area
from screening.inputs.findings import Findings
from screening.inputs.lot_rules_file import read_lot_rules
from screening.inputs.rules_file import RulesRead
from screening.rules import Rules
from tests.inputs.made_up import write_area

LOTS = pd.DataFrame({"lot_id": ["0001", "0002", "0003"], "zone": ["R1", "R1", None]})


def read(tmp_path, text, lots=LOTS, rules=None):
    path = tmp_path / "own.csv"
    path.write_text(text, encoding="utf-8")
    findings = Findings()
    own = read_lot_rules(path, "own.csv", RulesRead(rules or Rules()), lots, findings)
    return own, [str(fault) for fault in findings.faults]


def test_a_lots_own_row_wins_over_its_zones(tmp_path):
    table = "lot_id,zone,side_line_setback_m,gardens_most\n,R1,2.5,2\n0002,,4,\n0003,,,2\n"
    own, faults = read(tmp_path, table)
    assert faults == []
    assert own == {
        "0001": {"gardens_most": 2, "side_line_setback_m": 2.5},
        "0002": {"gardens_most": 2, "side_line_setback_m": 4.0},
        "0003": {"gardens_most": 2},
    }


def test_feet_are_turned_into_metres(tmp_path):
    own, faults = read(tmp_path, "lot_id,house_setback_ft,capture_depth_least_in\n0001,10,1\n")
    assert faults == []
    assert own["0001"]["house_setback_m"] == pytest.approx(3.048)
    assert own["0001"]["capture_depth_least_mm"] == pytest.approx(25.4)


def test_every_fault_is_told_at_once(tmp_path):
    table = (
        "lot_id,zone,hose_setback_m,slope_limit_pct,weight_soil,roof_kind\n"
        "0001,,1,flat,,gable\n0001,,,13,,\n004,,,13,,\n,R2,,13,,\n0002,R1,,13,,\n,,,13,,\n0003,,,,,round\n"
    )
    own, faults = read(tmp_path, table)
    text = "\n".join(faults)
    assert "Unknown rule 'hose_setback_m'" in text
    assert "'house_setback_m'" in text
    assert "weight_soil cannot be set by lot: lots are compared by it" in text
    assert "lot '0001': slope_limit_pct must be a number, got 'flat'" in text
    assert "Row 3: lot '0001' has a row already" in text
    assert "No lot has the id '004'" in text
    assert "No lot lies in a zone called 'R2'" in text
    assert "Row 6 of the rules by lot names both a lot and a zone" in text
    assert "Row 7 of the rules by lot names no lot and no zone" in text
    assert "lot '0003': " in text
    assert len(faults) == 9
    assert own["0001"]["roof_kind"] == "gable"


def test_limits_are_checked_beside_the_areas(tmp_path):
    """The slope to look at is 12% for the area, so a lot's limit cannot be 10% alone."""
    _, faults = read(tmp_path, "lot_id,slope_limit_pct\n0001,10\n")
    assert len(faults) == 1
    assert "slope_limit_pct" in faults[0]
    own, faults = read(tmp_path, "lot_id,slope_look_pct,slope_limit_pct\n0001,8,10\n")
    assert faults == []
    assert own["0001"] == {"slope_limit_pct": 10.0, "slope_look_pct": 8.0}


def test_a_table_without_lots_or_zones(tmp_path):
    _, faults = read(tmp_path, "lot,house_setback_m\n0001,4\n")
    assert "Did you mean 'lot_id'" in faults[0]
    assert "no column 'lot_id' or 'zone'" in faults[1]


def test_named_by_the_area_file(tmp_path):
    path = write_area(tmp_path, '[rules]\nslope_look_pct = 11\nby_lot = "own.csv"\n')
    (tmp_path / "own.csv").write_text("lot_id,house_setback_m\n0010,4.5\n", encoding="utf-8")
    reading = inspect_area(path)
    assert reading.faults == ()
    read = reading.result()
    assert read.rules.slope_look_pct == 11.0
    assert read.own_rules == {"0010": {"house_setback_m": 4.5}}
    assert "own.csv" in read.area.files


def test_a_missing_table_is_a_fault(tmp_path):
    reading = inspect_area(write_area(tmp_path, '[rules]\nby_lot = "none.csv"\n'))
    assert any("none.csv" in str(fault) for fault in reading.faults)


def test_an_id_that_a_list_wrote_with_an_apostrophe_is_found(tmp_path):
    lots = pd.DataFrame({"lot_id": ["-1", "+2"], "zone": ["R1", None]})
    own, faults = read(tmp_path, "lot_id,gardens_most\n'-1,2\n+2,2\n", lots)
    assert faults == []
    assert own == {"-1": {"gardens_most": 2}, "+2": {"gardens_most": 2}}
