from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from screening import Rules
from scripts.demo_area_maker.neighbourhood import make_neighbourhood
from scripts.truths.areas import certain_rules, draw_truth, survey_on_file
from scripts.truths.fields import gaussian_field, uniform_field
from scripts.truths.pairs import covered, lot_pairs, tenths, worst_gap

AREA = Path(__file__).parents[2] / "demo_area" / "area.toml"


def correlation(field, step):
    return float(np.corrcoef(field[:, :-step].ravel(), field[:, step:].ravel())[0, 1])


@pytest.mark.parametrize("range_cells", [5.0, 20.0])
def test_a_field_has_its_variance_and_its_correlation(range_cells):
    """exp(-d2 / (2 range2)) is 0.607 at the range and 0.135 at twice the range (analytic); 20 fields, 0.03."""
    random = np.random.default_rng(4)
    fields = [gaussian_field((240, 240), range_cells, random) for _ in range(20)]
    assert np.mean([np.mean(f**2) for f in fields]) == pytest.approx(1.0, abs=0.06)
    for times in (1, 2):
        found = np.mean([correlation(f, round(times * range_cells)) for f in fields])
        assert found == pytest.approx(np.exp(-0.5 * times**2), abs=0.05)
    flat = np.concatenate([uniform_field((60, 60), 5.0, random).ravel() for _ in range(40)])
    assert np.histogram(flat, 4, (-1.0, 1.0))[0] / flat.size == pytest.approx([0.25] * 4, abs=0.03)


def test_tenths_and_their_gap():
    table = tenths([0.05, 0.05, 0.95, 1.0, 0.3], [False, True, True, True, False])
    assert table.index.tolist() == [0.0, 0.3, 0.9]
    assert table["pairs"].tolist() == [2, 1, 2]
    assert table["found"].tolist() == [0.5, 0.0, 1.0]
    assert worst_gap(table) == 0.0
    many = tenths([0.55] * 200 + [0.15] * 199, [True] * 130 + [False] * 70 + [True] * 199)
    assert worst_gap(many) == pytest.approx(0.65 - 0.55)


def test_intervals_hold_a_rank_or_no_garden_at_all():
    pairs = pd.DataFrame(
        {
            "feasible": [1.0, 1.0, 0.5, 0.0],
            "rank": [3.0, 9.0, np.inf, np.inf],
            "low_0.8": [1.0, 1.0, 4.0, np.inf],
            "high_0.8": [5.0, 5.0, np.inf, np.inf],
        }
    )
    assert covered(pairs, 0.8) == pytest.approx(2 / 3)


def test_certain_rules_know_of_no_error_and_keep_the_limits():
    rules = certain_rules(Rules(), np.random.default_rng(1))
    assert (rules.elevation_error_m, rules.infiltration_spread, rules.roof_error_pct) == (0.0, 1.0, 0.0)
    assert rules.slope_limit_pct == Rules().slope_limit_pct
    assert rules.weight_water_kept == pytest.approx(400, abs=150)
    given = certain_rules(Rules(score_weights_firmness=0), np.random.default_rng(1))
    assert (given.weight_water_kept, given.weight_side) == (400, 50)


def test_what_is_stated_is_found_in_two_truths():
    """The whole check in small: bounds wide enough for two draws of the soils, narrow enough to see a broken model."""
    rules = Rules()
    survey = survey_on_file(AREA, rules)
    parts = []
    for seed in (101, 102):
        truth = draw_truth(make_neighbourhood(seed), survey, rules)
        noise = truth.on_file.elevation.heights_m() - truth.true.elevation.heights_m()
        assert noise.std() == pytest.approx(rules.elevation_error_m, rel=0.1)
        parts.append(lot_pairs(truth, rules))
    pairs = pd.concat(parts, ignore_index=True)
    assert len(pairs) == 2 * 368
    sure = pairs["feasible"] >= 0.8
    assert pairs.loc[sure, "is_feasible"].mean() == pytest.approx(pairs.loc[sure, "feasible"].mean(), abs=0.2)
    never = pairs["feasible"] < 0.1
    assert pairs.loc[never, "is_feasible"].mean() < 0.1
    assert pairs["in_first"].sum() == pytest.approx(60.0, abs=1e-6)
    assert pairs.loc[pairs["is_in_first"], "in_first"].mean() > 3 * pairs["in_first"].mean()
    assert 0.6 < covered(pairs, 0.8) < 0.95
    assert covered(pairs, 0.5) < covered(pairs, 0.8)
