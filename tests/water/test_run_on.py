"""Run-on: what lawn sheds, and what it leaves of a garden's room for roof water."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.area import AreaContext
from screening.rules import Rules
from screening.units import INCH_MM
from screening.water import lot_water
from screening.water.run_on import lawn_curve_number, run_on_held_m3, storm_run_on, with_run_on_m3
from screening.water.storm import STORM_COLUMNS, storm
from tests.water.test_stage import block

THREE_INCHES = Rules(run_on=True, storm_depth_mm=3.0 * INCH_MM, lawn_condition="good")


def test_curve_numbers_of_lawn_by_group_and_condition():
    # TR-55 table 2-2a, open space: poor, fair and good, groups A to D
    groups = ["A", "B", "C", "D"]
    for condition, printed in (("poor", [68, 79, 86, 89]), ("fair", [49, 69, 79, 84]), ("good", [39, 61, 74, 80])):
        assert lawn_curve_number(groups, Rules(lawn_condition=condition)).tolist() == printed


def test_a_group_that_is_not_known_counts_as_the_one_that_sheds_most():
    # dual groups are D unless drained (TR-55, appendix A)
    assert lawn_curve_number(["unknown", "", "B/D"], Rules()).tolist() == [84, 84, 84]
    assert lawn_curve_number(["B/D", "A/D"], Rules(dual_group_drained=True)).tolist() == [69, 49]


def test_worked_by_hand_from_printed_runoff():
    # Good lawn of group D has 80 (TR-55 table 2-2a); 3.0 in of rain on 80 shed 1.25 in (table 2-1, as printed).
    # 100 m2 shed 100 x 1.25 x 0.0254 = 3.175 m3. 60 m2 of roof shed 0.95 x 3.0 x 0.0254 x 60 = 4.3434 m3, which is all
    # that a garden for 3 in holds. So of 7.5184 m3 that come, 4.3434 are held: 57.77% of either.
    lawn = storm_run_on([100.0], lawn_curve_number(["D"], THREE_INCHES), THREE_INCHES)
    assert lawn == pytest.approx([3.175], abs=0.0005)
    rows = storm([60.0], [60.0], [3.0 * INCH_MM], [0.5], THREE_INCHES, run_on_m3=lawn)
    assert rows["storm_runoff_m3"][0] == pytest.approx(4.3434, abs=1e-4)
    assert rows["storm_captured_m3"][0] == pytest.approx(4.3434 * 0.57770, abs=1e-3)
    assert rows["storm_kept_m3"][0] == pytest.approx(0.5 * 4.3434 * 0.57770, abs=1e-3)
    assert rows["storm_run_on_held_m3"][0] == pytest.approx(3.175 * 0.57770, abs=1e-3)


def test_lawn_that_finds_room_takes_none_from_the_roof():
    # 4.3434 m3 of roof water and 3.175 m3 of lawn water into 8.6868 m3
    rows = storm([60.0], [60.0], [6.0 * INCH_MM], [1.0], THREE_INCHES, run_on_m3=[3.175])
    assert rows["storm_captured_m3"][0] == pytest.approx(4.3434, abs=1e-4)
    assert rows["storm_run_on_held_m3"][0] == 3.175


def test_a_dry_storm_sheds_nothing_from_lawn():
    # 69: S 114.116 mm, so none up to 22.82 mm; (38 - 22.823)^2 / (38 + 91.293) = 1.7815 mm (TR-55 equations 2-2 to 2-4)
    assert storm_run_on([500.0], [69], Rules(storm_depth_mm=22.8)).tolist() == [0.0]
    assert storm_run_on([500.0], [69], Rules(storm_depth_mm=38.0))[0] == pytest.approx(500 * 0.0017815, abs=0.001)


def test_what_runs_on_is_unknown_where_the_ground_is():
    assert np.isnan(storm_run_on([np.nan], [84], Rules())).all()
    rows = storm([60.0, 60.0], [60.0, np.nan], [38.0, np.nan], [1.0, 1.0], Rules(), run_on_m3=[np.nan, np.nan])
    assert np.isnan(rows.loc[0, list(STORM_COLUMNS[1:])].to_numpy(float)).all()
    assert rows.loc[1, list(STORM_COLUMNS[1:])].tolist() == [0.0, 0.0, 0.0]  # no garden, nothing to know


VOLUME = st.floats(0.0, 50.0)


@settings(max_examples=200, deadline=None)
@given(VOLUME, VOLUME, VOLUME, VOLUME)
def test_run_on_never_raises_roof_water_captured(inflow, room, lawn, more):
    alone = min(inflow, room)
    captured = with_run_on_m3(alone, inflow, room, lawn)
    held = run_on_held_m3(captured, room, lawn)
    assert 0.0 <= captured <= alone
    assert with_run_on_m3(alone, inflow, room, lawn + more) <= captured + 1e-9
    assert captured + held == pytest.approx(min(room, inflow + lawn), abs=1e-9)
    assert -1e-12 <= held <= lawn


@settings(max_examples=100, deadline=None)
@given(st.floats(1, 500), st.floats(0, 200), st.floats(0, 1), st.floats(1, 300))
def test_without_lawn_uphill_the_answer_has_the_same_bits(area, held, reach, rain):
    given_ = ([area, area], [area, 0.7 * area], [held, held], [reach, reach], Rules(storm_depth_mm=rain))
    before, after = storm(*given_), storm(*given_, run_on_m3=[0.0, 0.0])
    for name in STORM_COLUMNS[:3]:
        assert before[name].tolist() == after[name].tolist()
    assert before["storm_run_on_held_m3"].isna().all()
    assert after["storm_run_on_held_m3"].tolist() == [0.0, 0.0]


def stage(rules, **columns):
    made = block()
    candidates = made.tables["candidates"].assign(hsg=["D", "unknown", "B"], run_on_m2=[100.0, 50.0, np.nan], **columns)
    return lot_water(made.with_tables({"candidates": candidates}), AreaContext(rules, crs=None, given=frozenset()))


def test_the_stage_counts_run_on_only_where_it_is_asked_for():
    off = stage(Rules())
    assert "run_on_m3" not in off["candidates"]
    assert off["lot_water"]["storm_captured_m3"].tolist() == pytest.approx([2.166, 0.0, 0.0])
    assert off["lot_water"]["storm_run_on_held_m3"].isna().all()
    on = stage(Rules(run_on=True))
    assert on["candidates"]["run_on_curve_number"].tolist() == [84, 84, 69]
    # 84: S 48.38 mm; (38 - 9.676)^2 / (38 + 38.705) = 10.459 mm
    volumes = on["candidates"]["run_on_m3"].tolist()
    assert volumes[:2] == pytest.approx([1.046, 0.523], abs=1e-9)
    assert np.isnan(volumes[2])
    row = on["lot_water"].iloc[0]
    assert row["storm_captured_m3"] == pytest.approx(2.166**2 / (2.166 + 1.046))
    assert row["storm_run_on_held_m3"] == pytest.approx(2.166 * 1.046 / (2.166 + 1.046))
    assert row["storm_runoff_m3"] == 5.42  # roofs and paving alone


def test_two_gardens_each_have_run_on_of_their_own():
    spot, other = 2.166**2 / (2.166 + 1.046), 4.332**2 / (4.332 + 0.523)
    rows = stage(Rules(run_on=True, gardens_most=2), second=[False, True, False])["lot_water"]
    assert rows["storm_captured_m3"][0] == pytest.approx(min(spot + other, 5.42))
    held = 2.166 * 1.046 / (2.166 + 1.046) + 4.332 * 0.523 / (4.332 + 0.523)
    assert rows["storm_run_on_held_m3"][0] == pytest.approx(held)


def test_two_gardens_are_not_known_where_the_first_is_not():
    made = block()
    candidates = made.tables["candidates"].assign(second=[False, True, False], kept_share=[np.nan, 1.0, 1.0])
    rows = lot_water(made.with_tables({"candidates": candidates}), AreaContext(Rules(), crs=None, given=frozenset()))
    assert np.isnan(rows["lot_water"]["storm_kept_m3"][0])
    assert pd.notna(rows["lot_water"]["storm_captured_m3"][0])
