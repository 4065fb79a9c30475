from math import log
from statistics import NormalDist

import numpy as np
import pytest

from screening.rules import Rules
from screening.soils.conductivity import (
    chance_infeasible,
    chance_slower,
    design_ksat_um_s,
    group_infiltration_mm_h,
    least_infiltration_mm_h,
)
from screening.soils.groups import LABELS, mapped_chances

RULES = Rules()


def design_of_map(labels):
    """Chance to be infeasible where a plain map says these labels."""
    ksat, source = design_ksat_um_s(np.full(len(labels), np.nan), labels, RULES)
    chances = mapped_chances(labels, RULES)[:, :4]
    return chance_infeasible(chances, labels, ksat, source, np.full(len(labels), 2.0), RULES)


def test_survey_conductivity_is_divided_on_built_lots_only():
    ksat, source = design_ksat_um_s([9.0, 9.0], ["B", "B"], RULES, built=[True, False])
    assert ksat == pytest.approx([3.0, 9.0])
    assert source.tolist() == ["survey", "survey"]


def test_the_group_stands_in_where_the_survey_gives_none():
    ksat, source = design_ksat_um_s([np.nan] * 4, ["A", "C", "B/D", "unknown"], RULES)
    assert ksat[:3] * 3.6 == pytest.approx([20.0, 4.0, 1.5])
    assert np.isnan(ksat[3])
    assert source.tolist() == ["group", "group", "group", "none"]


def test_a_wet_dual_group_takes_no_more_than_group_d():
    ksat, source = design_ksat_um_s([9.0, 0.3], ["B/D", "B/D"], RULES)
    assert ksat * 3.6 == pytest.approx([1.5, 0.36])
    assert source.tolist() == ["group", "survey"]
    ksat, source = design_ksat_um_s([9.0], ["B/D"], Rules(dual_group_drained=True))
    assert ksat == pytest.approx([3.0])


def test_the_slowest_rate_that_empties_pond_and_bed():
    # 150 mm in 36 h needs 4.17 mm/h, 270 mm in 72 h needs 3.75
    assert least_infiltration_mm_h(RULES) == pytest.approx(150 / 36)
    assert least_infiltration_mm_h(RULES, ponding_depth_mm=100.0, bed_depth_mm=600.0) == pytest.approx(340 / 72)


def test_chance_of_a_lognormal():
    # one sigma is a factor of the spread: the normal distribution's 0.15866 and 0.84134
    assert chance_slower([8.0, 2.0, 4.0], 4.0, 2.0) == pytest.approx([0.158655, 0.841345, 0.5], abs=1e-6)
    assert chance_slower([5.0, 3.0], 4.0, 1.0).tolist() == [0.0, 1.0]
    assert chance_slower([0.0, 3.0], [4.0, 0.0], 2.0).tolist() == [1.0, 0.0]
    assert np.isnan(chance_slower(np.nan, 4.0, 2.0))


def test_a_plain_d_alone_never_rules_out():
    chance = dict(zip(LABELS, design_of_map(LABELS), strict=True))
    slower = {median: NormalDist().cdf(log(150 / 36 / median) / log(2)) for median in (1.5, 4.0)}
    assert chance["D"] == pytest.approx(0.8 * slower[1.5] + 0.2 * slower[4.0])
    assert chance["D"] == pytest.approx(0.848, abs=1e-3)
    assert max(chance.values()) < RULES.soil_chance_out
    assert chance["A"] < chance["B"] < chance["C"] < chance["D"]
    # what no map tells is an equal mixture of the four groups
    four = chance_slower(group_infiltration_mm_h(RULES), 150 / 36, 2.0)
    assert chance["unknown"] == pytest.approx(four.mean())


def test_survey_conductivity_counts_for_its_own_group_only():
    sure = chance_infeasible([[0, 1, 0, 0]], ["B"], [3.0], ["survey"], [2.0], RULES)[0]
    assert sure == pytest.approx(chance_slower(10.8, 150 / 36, 2.0))
    mixed = chance_infeasible([[0, 0.6, 0.4, 0]], ["B"], [3.0], ["survey"], [2.0], RULES)[0]
    assert mixed == pytest.approx(0.6 * sure + 0.4 * chance_slower(4.0, 150 / 36, 2.0))


def test_a_test_stands_alone():
    fast = chance_infeasible([[0, 0, 0, 1.0]], ["D"], [11.8 / 3.6], ["test"], [1.4], RULES)
    slow = chance_infeasible([[0, 1.0, 0, 0]], ["B"], [1.5 / 3.6], ["test"], [1.4], RULES)
    assert fast < 0.01
    assert slow > 0.99


def test_a_survey_s_conductivity_without_a_group_speaks_for_the_unknown():
    found = chance_infeasible([[0, 0, 0, 0]], ["unknown"], [3.0], ["survey"], [2.0], RULES)[0]
    assert found == pytest.approx(chance_slower(10.8, 150 / 36, 2.0))
