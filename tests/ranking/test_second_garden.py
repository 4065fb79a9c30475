"""Roof water captured in the draws, by the spot and by a second garden, with run-on and without."""

import numpy as np
import pytest

from screening.ranking.second_garden import drawn_captured_m3, second_kept_m3
from screening.rules import Rules
from screening.water.storm import garden_storm

AREA, HELD, LAWN = np.array([60.0, 45.0, 80.0]), np.array([38.0, 20.0, 60.0]), np.array([1.0, 0.4, 2.0])


def test_at_the_digitized_roof_it_is_what_the_storm_says():
    rules, nothing = Rules(), np.full(3, np.nan)
    for lawn in (None, LAWN, np.zeros(3)):
        said = garden_storm(nothing, AREA, HELD, np.ones(3), rules, run_on_m3=lawn)["storm_captured_m3"]
        assert drawn_captured_m3(AREA, HELD, np.ones(3), lawn, rules).tolist() == pytest.approx(said.tolist())


def test_lawn_takes_its_part_under_a_larger_roof_too():
    """A roof of 1.1: 2.3826 m3 come from it and 1 m3 from lawn; 38 / 1.1 mm of rain on it fill the garden, 2.166 m3."""
    got = drawn_captured_m3(AREA[:1], np.array([38.0 / 1.1]), np.array([1.1]), LAWN[:1], Rules())
    assert got.tolist() == pytest.approx([2.166 * 2.3826 / 3.3826])


def test_a_second_garden_keeps_less_where_lawn_runs_on_and_nothing_where_that_is_not_known():
    numbers = {"draining_area_m2": AREA, "kept_share": np.array([0.5, 0.8, 1.0])}
    second, stands = np.array([1, -1, 2]), np.array([[True, False], [True, True], [True, True]])
    depth, roof = HELD[[1, 0, 2]][:, None] * np.ones((3, 2)), np.ones((3, 2))
    plain = second_kept_m3(numbers, second, stands, depth, roof, Rules())
    assert plain == pytest.approx(np.array([[0.95 * 0.02 * 45 * 0.8, 0], [0, 0], [0.95 * 0.038 * 80] * 2]))
    lawn = np.array([9.0, 0.4, np.nan])
    asked = second_kept_m3(numbers, second, stands, depth, roof, Rules(), lawn)
    room, comes = 0.95 * 0.02 * 45, 0.95 * 0.038 * 45
    assert asked == pytest.approx(np.array([[0.8 * room * comes / (comes + 0.4), 0], [0, 0], [0, 0]]))
