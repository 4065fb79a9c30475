import numpy as np
import pytest

from screening.rules import Rules
from screening.units import INCH_MM
from screening.water.drawdown import bed_drawdown_h, deepest_bed_mm, deepest_pond_mm, pond_drawdown_h


def test_six_inches_at_half_an_inch_an_hour():
    # arithmetic: 12 h; least rates for 6 in are 0.25, 0.125 and 0.0833 in/h for 24, 48 and 72 h
    assert pond_drawdown_h(6 * INCH_MM, 0.5 * INCH_MM) == pytest.approx(12.0)
    rates = np.array([0.25, 0.125, 1 / 12]) * INCH_MM
    assert pond_drawdown_h(6 * INCH_MM, rates) == pytest.approx([24.0, 48.0, 72.0])


def test_depths_that_empty_in_time():
    # analytic: an open pond f t, a reservoir of void ratio n f t / n (13 mm/h, 48 h: 624 and 1560 mm)
    assert deepest_pond_mm(13.0, 48.0) == pytest.approx(624.0)
    assert deepest_bed_mm(13.0, 48.0, 0.4) == pytest.approx(1560.0)
    assert pond_drawdown_h(624.0, 13.0) == pytest.approx(48.0)
    assert bed_drawdown_h(0.0, 1560.0, 0.4, 13.0) == pytest.approx(48.0)


def test_pond_and_bed_of_the_default_rules():
    rules = Rules()
    assert bed_drawdown_h(rules.ponding_depth_mm, rules.bed_depth_mm, rules.void_fraction, 8.0) == pytest.approx(33.75)
    assert pond_drawdown_h(rules.ponding_depth_mm, [11.8, 4.1]) == pytest.approx([12.712, 36.585], abs=1e-3)


def test_nothing_soaks_in_and_nothing_known():
    hours = pond_drawdown_h([150.0, 150.0, 0.0], [0.0, np.nan, 0.0])
    assert hours[0] == np.inf
    assert np.isnan(hours[1])
    assert hours[2] == 0.0
