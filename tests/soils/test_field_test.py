from math import exp, log

import numpy as np
import pandas as pd
import pytest

from screening.rules import Rules
from screening.soils.field_test import (
    by_tests,
    conductivity_of_hole_mm_h,
    hole_passes,
    time_of_hole_h,
    vague_prior,
)

RULES = Rules()


def test_conductivity_of_a_hole():
    # inverse auger hole (formula from memory, number computed): r 4 cm, 40 to 30 cm in 20 min
    found = conductivity_of_hole_mm_h(400.0, 300.0, 20.0 / 60.0, 80.0)
    assert found == pytest.approx(16.316, rel=1e-3)
    assert found / 3.6 == pytest.approx(4.532, rel=1e-3)
    assert found / 36000 == pytest.approx(4.5322e-4, rel=1e-4)  # cm/s


def test_the_drop_in_a_hole_is_not_a_conductivity():
    # 1.5 in of drop in 10 min is 9 in/h, about 24 times the conductivity of that ground
    drop_mm_h = 60 * 1.5 / 10 * 25.4
    ksat = conductivity_of_hole_mm_h(400.0, 400.0 - drop_mm_h / 6, 1.0 / 6.0, 80.0)
    assert drop_mm_h / ksat == pytest.approx(22, abs=3)


def test_hours_of_a_hole_of_the_usual_size():
    # hole 0.6 m deep and 0.3 m wide: empty in 14 h is about 11.8 mm/h, in 40 h about 4.1
    assert conductivity_of_hole_mm_h(600.0, 0.0, [14.0, 40.0], 300.0) == pytest.approx([11.8, 4.1], abs=0.05)
    assert time_of_hole_h([11.771, 4.1198], 600.0, 300.0) == pytest.approx([14.0, 40.0], rel=1e-3)
    assert time_of_hole_h(0.0, 600.0, 300.0) == np.inf


def test_the_hole_s_limit_and_the_pond_s_agree():
    # a hole that empties in 36 h is ground in which the default pond empties in 33 h: the same judgement within a tenth
    ksat = conductivity_of_hole_mm_h(600.0, 0.0, 36.0, 300.0)
    assert RULES.ponding_depth_mm / ksat == pytest.approx(36.0, rel=0.1)


def test_readings_that_are_none():
    found = conductivity_of_hole_mm_h([600, 600, 0, 300, 600], [0, 0, 0, 400, 600], [0, np.nan, 5, 5, 5], 300.0)
    assert np.isnan(found[:4]).all()
    assert found[4] == 0.0


def test_every_filling_must_pass():
    assert hole_passes([20.0, 36.0], 36.0)
    assert not hole_passes([20.0, 40.0], 36.0)
    assert not hole_passes([40.0, 20.0], 36.0)
    assert hole_passes([np.nan, 12.0], 36.0)
    assert not hole_passes([], 36.0)


def at(x, unit=0, ksat_mm_h=8.0, source="group", tests=((0.0, 3.0, 0),)):
    """Estimate at one place x metres along a line, after tests (x, mm/h, unit)."""
    mapped = {"y_m": 0.0, "ksat_um_s": ksat_mm_h / 3.6, "ksat_spread": 2.0 if np.isfinite(ksat_mm_h) else np.nan}
    places = pd.DataFrame([{"x_m": x, "unit": unit, "ksat_source": source, **mapped}])
    rows = [{"x_m": x, "unit": on, "test_ksat_um_s": found / 3.6, **mapped} for x, found, on in tests]
    found = by_tests(places, pd.DataFrame(rows), RULES).iloc[0]
    return found["ksat_um_s"] * 3.6, found["ksat_spread"], found["ksat_source"]


def test_a_neighbour_on_the_same_unit_worked_by_hand():
    # 50 m off: correlation 0.5 + 0.5 exp(-0.5); a test of 3 mm/h where the map says 8
    correlation = 0.5 + 0.5 * exp(-0.5)
    gain = log(2) ** 2 * correlation / (log(2) ** 2 + log(1.4) ** 2)
    ksat, spread, source = at(50.0)
    assert ksat == pytest.approx(8.0 * (3.0 / 8.0) ** gain)
    assert ksat == pytest.approx(4.23, abs=0.01)
    assert spread == pytest.approx(exp(log(2) * (1 - gain * correlation) ** 0.5))
    assert source == "group"


def test_nearer_tests_move_more_and_other_units_not_at_all():
    moved = [at(x)[0] for x in (15.0, 50.0, 200.0, 1e6)]
    assert moved == sorted(moved)
    assert moved[-1] < 8.0  # the whole unit learns something
    assert at(15.0, unit=1) == (pytest.approx(8.0), pytest.approx(2.0), "group")


def test_the_test_stands_alone_within_its_reach():
    assert at(10.0) == (pytest.approx(3.0), pytest.approx(1.4), "test")
    assert at(10.1)[2] == "group"
    # of two, the nearer
    assert at(5.0, tests=((0.0, 3.0, 0), (9.0, 12.0, 0)))[0] == pytest.approx(12.0)


def test_agreeing_tests_are_surer_than_one():
    one = at(50.0, tests=((0.0, 3.0, 0),))
    two = at(50.0, tests=((0.0, 3.0, 0), (100.0, 3.0, 0)))
    assert two[0] < one[0]
    assert two[1] < one[1]


def test_unknown_ground_learns_from_tests_only():
    median, vague = vague_prior(RULES)
    assert median * 3.6 == pytest.approx((20 * 8 * 4 * 1.5) ** 0.25)
    assert vague == pytest.approx(3.2, abs=0.1)
    ksat, spread, source = at(50.0, ksat_mm_h=np.nan, source="none")
    assert 3.0 < ksat < median * 3.6
    assert spread < vague
    assert source == "nearby test"
    assert at(50.0, unit=1, ksat_mm_h=np.nan, source="none")[2] == "none"
    # off the map only nearness counts
    assert at(1e6, unit=-1, ksat_mm_h=np.nan, tests=((0.0, 3.0, -1),))[0] == pytest.approx(median * 3.6)


def test_without_tests_nothing_changes():
    places = pd.DataFrame(
        {"x_m": [0.0], "y_m": [0.0], "unit": [0], "ksat_um_s": [2.0], "ksat_spread": [2.0], "ksat_source": ["survey"]}
    )
    tests = places.assign(test_ksat_um_s=1.0).iloc[:0]
    found = by_tests(places, tests, RULES).iloc[0]
    assert found.tolist() == [pytest.approx(2.0), pytest.approx(2.0), "survey"]
    assert by_tests(places.iloc[:0], tests, RULES).empty
