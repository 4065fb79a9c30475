import math

import pytest

from screening.rules import Rules
from screening.units import FOOT_M, GALLON_M3, INCH_M, INCH_MM, SQUARE_FOOT_M2
from screening.water.pipe import full_pipe_flow_l_s, roof_area_carried_m2

CUBIC_FOOT_L = FOOT_M**3 * 1000


@pytest.mark.parametrize(
    ("diameter_in", "roughness", "grade", "cfs"),
    [
        (4, 0.013, 1.0, 0.1903),
        (4, 0.010, 1.0, 0.2474),
        (4, 0.013, 2.0, 0.2691),
        (4, 0.013, 0.5, 0.1346),
        (3, 0.013, 1.0, 0.0884),
        (6, 0.013, 1.0, 0.561),
    ],
)
def test_full_pipes(diameter_in, roughness, grade, cfs):
    # Q = (1.486 / n) A R^(2/3) S^(1/2), computed; A and R^(2/3) of a 4 in pipe as in a published pipe table
    flow = full_pipe_flow_l_s(diameter_in * INCH_M, grade, roughness)
    assert flow / CUBIC_FOOT_L == pytest.approx(cfs, rel=0.005)


def test_the_default_pipe_carries_the_most_that_may_drain_to_a_garden():
    # a 4 in pipe at 1% carries 2,055 ft2 of roof at 4 in/h (computed)
    flow = full_pipe_flow_l_s(4 * INCH_M, 1.0)
    assert flow == pytest.approx(5.39, rel=0.005)
    carried = roof_area_carried_m2(flow, 4 * INCH_MM)
    assert carried / SQUARE_FOOT_M2 == pytest.approx(2055, rel=0.005)
    rules = Rules()
    flow = full_pipe_flow_l_s(rules.pipe_diameter_m, rules.lead_grade_pct)
    assert roof_area_carried_m2(flow, 4 * INCH_MM) == pytest.approx(rules.draining_area_most_m2, rel=0.05)


def test_a_four_inch_pipe_in_other_units():
    # A 0.087 ft2, R^(2/3) 0.191 as rounded in a published pipe table; flows and the speed computed
    area_ft2 = math.pi * (4 * INCH_M) ** 2 / 4 / SQUARE_FOOT_M2
    flow = full_pipe_flow_l_s(4 * INCH_M, 1.0, 0.013)
    assert flow / 1000 / GALLON_M3 * 60 == pytest.approx(85.4, rel=0.005)
    assert full_pipe_flow_l_s(4 * INCH_M, 1.0, 0.010) / 1000 / GALLON_M3 * 60 == pytest.approx(111.0, rel=0.005)
    assert flow / CUBIC_FOOT_L / area_ft2 == pytest.approx(2.18, rel=0.005)
    assert flow / CUBIC_FOOT_L == pytest.approx(1.486 / 0.013 * 0.087 * 0.191 * 0.01**0.5, rel=0.005)
