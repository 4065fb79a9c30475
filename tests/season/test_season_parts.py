"""Readings of a hole, how far a lot has come, as-built reach, inspections, totals and comparison, by hand."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from screening.inputs.field_file import read_field_files
from screening.season.built import as_built_reach
from screening.season.compare import changed_lots, compare_words, record_changes
from screening.season.reduce import hole_readings
from screening.season.report import inspections_due, last_day, months_after, season_counts, totals_by
from screening.season.status import contact_status
from screening.soils.field_test import conductivity_of_hole_mm_h
from screening.water.drawdown import pond_drawdown_h
from tests.season.cases import hole, write_field

STEPS = ("approached", "answered", "visited", "tested", "applied", "approved", "built", "inspected", "paid")


def readings(tmp_path, **fills):
    row = {**hole("A"), **fills}
    return hole_readings(read_field_files([write_field(tmp_path / "f.csv", row)], ["A"]).iloc[0].to_dict())


def test_the_last_filling_is_computed_with_and_the_slowest_counts(tmp_path):
    hours, ksat = readings(tmp_path, fill_1_h=20, fill_2_h=40)
    assert hours == pytest.approx([20, 40])
    # (75 / 40) ln((600 + 75) / 75)
    assert ksat == pytest.approx(75 / 40 * np.log(9))


def test_a_reading_that_did_not_run_dry_is_carried_on_by_the_formula(tmp_path):
    hours, ksat = readings(tmp_path, fill_1_h=10, fill_2_h=24, fill_2_end=30)
    assert ksat == pytest.approx(75 / 24 * np.log(675 / 375))
    assert hours[1] == pytest.approx(75 * np.log(9) / ksat)
    assert hours[1] > 36 > 24  # not yet over the limit on the clock, and yet too slow
    # a hole filled half tells of the whole hole
    hours, _ = readings(tmp_path, fill_1_h=5, fill_1_start=30)
    assert hours == pytest.approx([5 * np.log(9) / np.log(375 / 75)])


def test_the_limit_of_the_hole_and_the_limit_of_the_pond_agree():
    """A hole of 0.6 x 0.3 m that takes 36 h and a pond of 150 mm: both limits within a tenth of each other."""
    ksat = conductivity_of_hole_mm_h(600, 0, 36, 300)
    assert float(pond_drawdown_h(150, ksat)) == pytest.approx(36, rel=0.10)
    assert float(pond_drawdown_h(150, ksat)) < 36  # the hole is the stricter of the two


@pytest.mark.parametrize(
    ("events", "status"),
    [
        ([("approach", None)], "approached"),
        ([("approach", None), ("call", None)], "answered"),
        ([("test", None), ("call", None)], "tested"),
        ([("status", "applied"), ("visit", None)], "applied"),
        ([("status", "applied"), ("built", None)], "built"),
        ([("built", None), ("status", "inspected")], "inspected"),
        ([("status", "not to be contacted"), ("status", "applied")], "not to be contacted"),
        ([("ticket", None)], None),
    ],
)
def test_how_far_a_lot_has_come(events, status):
    assert contact_status(pd.DataFrame(events, columns=["what", "status"], dtype=object)) == status


def test_reach_of_a_built_garden_is_the_designs_as_far_as_that_goes():
    reach = as_built_reach(
        np.array([40.0, 60.0, 50.0, np.nan]),
        np.array([0.5, 0.5, 0.3, 0.5]),
        np.array([50.0, 40.0, np.nan, 40.0]),
        np.array([1.0, 0.8, np.nan, 0.8]),
    )
    assert reach[:3] == pytest.approx([1.0, (40 * 0.8 + 20 * 0.5) / 60, 0.3])
    assert np.isnan(reach[3])


def season(**columns):
    count = len(columns["lot_id"])
    return pd.DataFrame({name: columns.get(name, [None] * count) for name in ("lot_id", *STEPS)} | columns)


def test_months_end_where_the_month_ends():
    assert months_after(date(2026, 11, 30), 3) == date(2027, 2, 28)
    assert months_after(date(2026, 5, 31), 12) == date(2027, 5, 31)
    assert months_after(date(2024, 2, 29), 12) == date(2025, 2, 28)


def test_inspections_fall_due_one_after_another():
    table = season(
        lot_id=["a", "b", "c", "d"],
        built=["2026-06-15", "2026-06-15", "2026-06-15", "2026-12-01"],
        inspected=[None, "2026-08-20", "2026-09-20 2027-06-20", None],
    )
    due = inspections_due(table, date(2026, 10, 1)).set_index("lot_id")
    assert due.loc["a"].tolist() == ["3 months", "2026-09-15", True]
    assert due.loc["b"].tolist() == ["year 1", "2027-06-15", False]  # made 26 days early: it counts
    assert due.loc["c", "inspection"] == "year 1"  # what comes later is not known yet
    assert "d" not in due.index
    due = inspections_due(table, date(2027, 7, 1)).set_index("lot_id")
    assert due.loc["c"].tolist() == ["year 3", "2029-06-15", False]
    assert due.loc["d"].tolist() == ["3 months", "2027-03-01", True]


def test_counts_and_totals_stop_at_the_day():
    table = season(
        lot_id=["a", "b"], approached=["2026-04-01", "2026-04-02"], built=["2026-06-15", "2026-07-15"],
        outfall=["mill brook", None], built_area_treated_m2=[60.0, 40.0], built_storm_captured_m3=[2.0, 1.0],
        built_storm_kept_m3=[1.0, np.nan], built_year_captured_m3=[50.0, 30.0], built_year_kept_m3=[25.0, 20.0],
    )  # fmt: skip
    assert season_counts(table, date(2026, 6, 30))["built"] == 1
    assert season_counts(table, date(2026, 4, 1))["approached"] == 1
    assert last_day(table) == date(2026, 7, 15)
    lots = pd.DataFrame({"lot_id": ["a", "b"], "street": ["Mill Way", "Mill Way"]})
    streets = totals_by(table, lots, "street", date(2026, 12, 31))
    assert streets.iloc[0].tolist() == ["Mill Way", 2, 100.0, 3.0, 1.0, 80.0, 45.0]
    outfalls = totals_by(table, lots, "outfall", date(2026, 12, 31))
    assert outfalls["outfall"].tolist() == ["(outfall unknown)", "mill brook"]
    assert outfalls["built_area_treated_m2"].sum() == 100.0


def tables(verdict="approach", score=5000, rank=1, code=None, ksat=2.0):
    lots = pd.DataFrame(
        {"lot_id": ["a", "b"], "verdict": [verdict, "approach"], "deciding_limit": [code, None], "score": [score, 4000],
         "rank": [rank, 3 - rank], "contact_status": None, "ksat_spot_um_s": [ksat, 2.0], "ksat_source": "group",
         "storm_kept_m3": [1.0, 2.0], "year_kept_m3": [10.0, 20.0]}
    )  # fmt: skip
    reasons = pd.DataFrame({"lot_id": ["a"] * bool(code), "code": [code] * bool(code), "severity": "look closer"})
    return {"lots": lots, "reasons": reasons}


def test_a_changed_rule_is_the_cause_where_its_reason_came_and_other_lots_only_moved():
    records = ({"rules": {"slope_look_pct": 12.0, "seed": 1}}, {"rules": {"slope_look_pct": 8.0, "seed": 2}})
    found = changed_lots(tables(), tables("look closer", 4900, 2, "slope_look"), records).set_index("lot_id")
    assert found.loc["a", "cause"] == "rule slope_look_pct 12.0 -> 8.0"
    assert found.loc["a", "reasons_new"] == "slope_look"
    assert found.loc["b", "cause"] == "other lots moved"
    assert record_changes(*records) == ["Rule seed: 1 -> 2", "Rule slope_look_pct: 12.0 -> 8.0"]
    words = "\n".join(compare_words(tables(), tables("look closer", 4900, 2, "slope_look"), records))
    assert "Lots that changed: 1; 1 more moved in rank only" in words
    assert "a: verdict approach -> look closer, deciding limit none -> slope_look, score 50 -> 49, rank 1 -> 2" in words


def test_changed_inputs_are_told_when_nothing_nearer_is():
    records = ({"inputs": {"dtm.tif": "1"}}, {"inputs": {"dtm.tif": "2", "trees.gpkg": "3"}})
    found = changed_lots(tables(), tables(score=4800), records)
    assert found["cause"].tolist() == ["inputs: dtm.tif (changed), trees.gpkg (new)"]
