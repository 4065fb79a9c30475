"""Lots judged anew under changed rules: the run's answer where nothing changes, what must follow where it does."""

import numpy as np
import pandas as pd
import pytest
from pandas.testing import assert_frame_equal

from screening.fields import REASONS
from screening.ranking.changed_rules import FROM_RUN, changed, live_range, rejudged, spot_codes
from screening.rules import Rules
from tests.outputs.varied_lots import varied_screening


@pytest.fixture(scope="module")
def varied():
    return varied_screening()


def plain(table):
    return pd.DataFrame(table).drop(columns="geometry", errors="ignore")


def counts(tables):
    return tables["lots"]["verdict"].value_counts().to_dict()


def test_under_the_runs_rules_nothing_changes(varied):
    again = rejudged(varied.tables, varied.rules, varied.rules, varied.own_rules)
    for name in ("lots", "candidates", "reasons"):
        assert_frame_equal(plain(again[name]), plain(varied.tables[name]))
    assert set(counts(varied.tables)) == {"approach", "test soil first", "look closer", "ruled out"}


def test_a_smaller_capture_depth_never_loses_a_lot(varied):
    before = (varied.tables["lots"]["verdict"] != "ruled out").to_numpy()
    for depth in (35.0, 30.0, 20.0, 10.0, 5.0):
        found = rejudged(varied.tables, varied.rules, changed(varied.rules, capture_depth_mm=depth), varied.own_rules)
        after = (found["lots"]["verdict"] != "ruled out").to_numpy()
        assert (after | ~before).all(), depth
        before = after


def test_a_lower_slope_limit_never_adds_a_lot(varied):
    last = (varied.tables["lots"]["verdict"] != "ruled out").to_numpy()
    for limit in (14.0, 12.0, 8.0, 4.0, 1.0):
        found = rejudged(varied.tables, varied.rules, changed(varied.rules, slope_limit_pct=limit), varied.own_rules)
        now = (found["lots"]["verdict"] != "ruled out").to_numpy()
        assert (last | ~now).all(), limit
        last = now
    assert last.sum() < 0.7 * (varied.tables["lots"]["verdict"] != "ruled out").sum()


def test_gardens_hold_the_changed_depth_where_they_have_room(varied):
    rules = changed(varied.rules, capture_depth_mm=20.0)
    assert rules.capture_depth_least_mm == 20.0
    found = rejudged(varied.tables, varied.rules, rules, varied.own_rules)["candidates"]
    needed = 0.95 * 20.0 * found["draining_area_m2"] / (150 + 0.4 * 300)
    usual = ~found["lot_id"].isin(varied.own_rules)
    assert found.loc[usual, "needed_m2"].to_numpy(float) == pytest.approx(needed[usual].to_numpy(float), abs=0.006)
    roomy = (found["room_m2"] > needed + 0.1) & (needed > 3.2) & usual
    assert (found.loc[roomy, "capture_depth_mm"] >= 20.0).all()
    exact = found.loc[roomy, "ponding_area_m2"].to_numpy(float) - needed[roomy].to_numpy(float)
    assert np.median(exact) == pytest.approx(0.0, abs=0.05)
    assert (exact > -0.06).all()


def test_what_the_draws_and_the_year_said_stays_the_runs(varied):
    found = rejudged(
        varied.tables, varied.rules, changed(varied.rules, capture_depth_mm=20.0, slope_limit_pct=9.0), varied.own_rules
    )
    for name in FROM_RUN:
        assert found["lots"][name].equals(varied.tables["lots"][name])


def test_other_rules_want_a_new_run(varied):
    with pytest.raises(ValueError, match="run_limit_m"):
        rejudged(varied.tables, varied.rules, varied.rules.model_copy(update={"run_limit_m": 30.0}))


def test_what_may_not_lie_above_is_drawn_along():
    rules = changed(Rules(), slope_limit_pct=8.0, capture_depth_mm=50.0)
    assert (rules.slope_look_pct, rules.capture_depth_least_mm) == (8.0, 38.0)
    assert live_range("capture_depth_mm", Rules()) == (5.0, 76.0)
    assert live_range("slope_limit_pct", Rules()) == (1.0, 17.0)


def test_codes_of_candidates_are_declared_reasons(varied):
    codes = spot_codes(varied.tables["candidates"], varied.rules)
    assert set(codes) <= set(REASONS)
    assert {"fall", "slope", "under_minimum", "soil_group"} <= set(codes)
    assert not {"no_room", "chance", "downspouts_placed"} & set(codes)


def test_a_lot_with_rules_of_its_own_keeps_them(varied):
    rules = changed(varied.rules, capture_depth_mm=20.0)
    found = rejudged(varied.tables, varied.rules, rules, varied.own_rules)["candidates"]
    same = (found["ponding_area_m2"] == varied.tables["candidates"]["ponding_area_m2"]).to_numpy()
    mine = (found["lot_id"] == "V000007").to_numpy()
    assert same[mine].all()
    assert mine.sum() > 0
    assert not same[~mine].all()
