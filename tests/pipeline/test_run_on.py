"""A whole run that counts run-on, beside one that does not."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from screening.demo_data import demo_area_path
from screening.pipeline import read_area, screen
from screening.ranking.changed_rules import FROM_RUN, rejudged
from tests.pipeline.test_threads import assert_same

TOLD = ["run_on_m2", "run_on_curve_number", "storm_run_on_m3", "storm_run_on_held_m3"]
FOLLOWS = [
    *("storm_captured_m3", "storm_kept_m3", "score", "value_water_kept", "rank", "rank_group", "rank_low", "rank_high"),
    *("chance_in_first", "reasons"),
]


@pytest.fixture(scope="module")
def demo():
    return read_area(demo_area_path())


@pytest.fixture(scope="module")
def without(demo):
    return screen(demo.area, demo.rules, own_rules=demo.own_rules)


@pytest.fixture(scope="module")
def asked(demo):
    return screen(demo.area, demo.rules.model_copy(update={"run_on": True}), own_rules=demo.own_rules)


def numbers(column):
    return column.astype("Float64").to_numpy(dtype=float, na_value=np.nan)


def test_only_the_storm_and_what_follows_from_it_differ(without, asked):
    """Places, sizes, verdicts and the mean year stay with the roofs' water."""
    before, after = (pd.DataFrame(run.lots.drop(columns=["geometry", *TOLD, *FOLLOWS])) for run in (without, asked))
    pd.testing.assert_frame_equal(before, after, check_exact=True)
    assert without.lots[TOLD].isna().all(axis=None)
    garden = asked.lots["ponding_area_m2"].notna()
    assert asked.lots.loc[garden, ["run_on_curve_number"]].notna().all(axis=None)
    assert not asked.lots.loc[~garden, TOLD[:3]].notna().any(axis=None)


def test_run_on_never_raises_what_is_captured_or_kept(without, asked):
    lawn = numbers(asked.lots["storm_run_on_m3"])
    dry = (lawn == 0.0) | np.isnan(lawn)
    for name in ("storm_captured_m3", "storm_kept_m3"):
        before, after = numbers(without.lots[name]), numbers(asked.lots[name])
        assert (after <= before).all()
        assert (after[dry] == before[dry]).all()
        assert after.sum() < before.sum()
    held, captured = numbers(asked.lots["storm_run_on_held_m3"]), numbers(asked.lots["storm_captured_m3"])
    room = 0.95 * 0.001 * numbers(asked.lots["capture_depth_mm"]) * numbers(asked.lots["draining_area_m2"])
    assert (held[lawn > 0] <= lawn[lawn > 0] + 0.006).all()
    # whole when they are added up, by the rounding of four columns
    assert (held + captured <= np.nan_to_num(room) + 0.05).all()


def test_lawn_water_is_credited_to_no_street(without, asked):
    """Streets add up roof water captured and kept, and what roofs and paving shed."""
    before, after = without.tables["streets"], asked.tables["streets"]
    assert numbers(before["storm_runoff_m3"]).tolist() == numbers(after["storm_runoff_m3"]).tolist()
    ranked = asked.lots["rank"].notna()
    kept = np.nansum(numbers(asked.lots.loc[ranked, "storm_kept_m3"]))
    assert np.nansum(numbers(after["storm_kept_m3"])) == pytest.approx(kept, abs=0.05)


def test_the_answer_hangs_on_no_block(demo, asked):
    rules = demo.rules.model_copy(update={"run_on": True})
    assert_same(asked, screen(demo.area, rules, own_rules=demo.own_rules, lots_per_block=60))


@pytest.mark.parametrize("gardens_most", [1, 2])
def test_judged_anew_under_the_runs_rules_nothing_changes(demo, asked, gardens_most):
    """With second gardens too, whose water counts beside the spots'."""
    run = asked
    if gardens_most == 2:
        rules = asked.rules.model_copy(update={"gardens_most": 2})
        run = screen(demo.area, rules, own_rules=demo.own_rules)
        assert (run.lots["gardens"] == 2).sum() > 100
    again = rejudged(run.tables, run.rules, run.rules, run.own_rules)["lots"]
    columns = [name for name in again.columns if name not in (*FROM_RUN, "geometry")]
    pd.testing.assert_frame_equal(pd.DataFrame(again[columns]), pd.DataFrame(run.lots[columns]))
