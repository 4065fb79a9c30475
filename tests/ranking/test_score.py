import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from screening.ranking.criteria import CRITERIA, straight_line
from screening.ranking.score import rank_groups, ranks, score, score_lots
from screening.rules import Rules


def test_weighted_sum_of_three_options():
    """Weighted linear combination of pre-scored options; computed by hand: 0.61, 0.62, 0.60, order 2, 1, 3."""
    values = np.array([[9000, 2000, 5000], [6000, 8000, 4000], [3000, 9000, 9000]])
    scores = score(values, np.array([50, 30, 20]))
    assert scores.tolist() == [6100, 6200, 6000]
    assert ranks(scores, np.zeros(3), np.ones(3, bool)).tolist() == [2, 1, 3]


def test_min_max_normalised_options():
    """Criteria benefit, cost, benefit, min-max normalised; computed by hand: 0, 1, 0.5."""
    measured = np.array([[10.0, 200, 1], [20, 100, 3], [15, 150, 2]])
    values = np.column_stack(
        [
            straight_line(measured[:, 0], 10, 20),
            straight_line(measured[:, 1], 200, 100),
            straight_line(measured[:, 2], 1, 3),
        ]
    )
    assert score(values, np.array([5, 3, 2])).tolist() == [0, 10000, 5000]


def test_two_options_swap_at_two_thirds():
    """(.9, .2) and (.6, .8): equal when the first weight is exactly 2/3; computed."""
    values = np.array([[9000, 2000], [6000, 8000]])
    assert np.diff(score(values, np.array([2, 1])))[0] == 0
    assert score(values, np.array([67, 33])).argmax() == 0
    assert score(values, np.array([66, 34])).argmax() == 1


def test_a_criterion_alike_on_all_lots_moves_no_rank():
    """Values lie between ends of the rules, not of the lots: one that is constant neither divides by 0 nor reorders."""
    spread = straight_line(np.array([10.0, 20, 15]), 10, 20)
    alike = straight_line(np.array([5.0, 5, 5]), 0, 10)
    both = score(np.column_stack([spread, alike]), np.array([1, 1]))
    assert both.tolist() == [2500, 7500, 5000]
    with pytest.raises(ValueError, match="none and full must differ"):
        straight_line(np.array([5.0, 5, 5]), 5, 5)


def test_no_weight_at_all_scores_nothing():
    assert score(np.array([[5000, 5000]]), np.array([0, 0])).tolist() == [0]


def test_ties_go_to_the_water_kept_then_to_the_order():
    scores = np.array([5000, 5000, 5000, 7000])
    kept = np.array([1.0, 2.0, 1.0, 0.0])
    assert ranks(scores, kept, np.array([True, True, True, False])).tolist() == [2, 1, 3, 0]


def test_ranks_within_two_points_of_their_first_are_about_equal():
    scores = np.array([9000, 8800, 8799, 8700])
    assert rank_groups(scores, np.array([1, 2, 3, 4])) == ["1-2", "1-2", "3-4", "3-4"]
    assert rank_groups(np.array([9000, 100]), np.array([1, 0])) == ["1", None]


def test_unknown_scores_nothing():
    assert straight_line(np.array([np.nan, 1.0]), 0, 2).tolist() == [0, 5000]
    assert straight_line(np.array([np.nan]), 15, 0).tolist() == [0]


@given(st.lists(st.integers(0, 10000), min_size=1, max_size=8), st.lists(st.integers(0, 1000), min_size=8, max_size=8))
def test_a_score_lies_between_its_least_and_greatest_value(values, weights):
    used = np.array(weights[: len(values)])
    found = int(score(np.array([values]), used)[0])
    assert 0 <= found <= 10000
    if used.sum():
        weighted = [v for v, w in zip(values, used, strict=True) if w]
        assert min(weighted) <= found <= max(weighted)


def lots_table():
    return pd.DataFrame(
        {
            "verdict": ["approach", "ruled out", "look closer"],
            "storm_kept_m3": pd.array([2.5, 9.0, None], dtype="Float64"),
            "ksat_spot_um_s": pd.array([20 / 3.6, 1.0, None], dtype="Float64"),
            "fall_m": pd.array([0.44, 0.1, None], dtype="Float64"),
            "fall_needed_m": pd.array([0.14, 0.1, None], dtype="Float64"),
            "run_m": pd.array([9.0, 9.0, None], dtype="Float64"),
            "slope_spot_pct": pd.array([3.0, 3.0, None], dtype="Float64"),
            "room_m2": pd.array([12.0, 3.0, None], dtype="Float64"),
            "ponding_area_m2": pd.array([8.0, 3.0, None], dtype="Float64"),
            "spot_side": ["front", "back", None],
        }
    )


def test_every_part_of_a_score_is_in_the_table_and_adds_up_by_calculator():
    rules = Rules()
    scored = score_lots(lots_table(), rules)
    first = scored.iloc[0]
    assert first["value_water_kept"] == 5000
    assert first["value_soil"] == 10000
    assert first["value_lead"] == 10000
    assert first["value_slope"] == 8000
    assert first["value_room"] == 5000
    assert first["value_side"] == 10000
    by_hand = (40 * 5000 + 20 * 10000 + 15 * 10000 + 10 * 8000 + 10 * 5000 + 5 * 10000) // 100
    assert first["score"] == by_hand == 7300
    assert scored["rank"].tolist()[0] == 1
    assert pd.isna(scored["rank"][1])
    assert pd.isna(scored["score"][1])
    assert scored["rank"][2] == 2
    assert scored["score"][2] == 0


def test_each_criterion_has_a_weight_and_a_declared_column():
    from screening.fields import TABLES

    columns = {field.name for field in TABLES["lots"]}
    assert {column for column, _, _ in CRITERIA} <= columns
    assert {weight for _, weight, _ in CRITERIA} == {name for name in Rules.model_fields if name.startswith("weight_")}
