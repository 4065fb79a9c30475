import numpy as np
import pytest

from screening.lot_rules import AREA_ONLY, own_words, rule_sets, rules_of
from screening.rules import Rules

OWN = {"b": {"house_setback_m": 5.0}, "c": {"house_setback_m": 5.0}, "d": {"house_setback_m": 3.0}}


def test_lots_of_one_set_of_rules_stand_together():
    sets = rule_sets(["b", "a", "c", "d", "a"], Rules(), OWN)
    assert [rows.tolist() for rows, _ in sets] == [[1, 3, 4], [0, 2]]  # d repeats what holds for the area
    assert [rules.house_setback_m for _, rules in sets] == [3.0, 5.0]


def test_without_rules_of_their_own_all_lots_are_one_set():
    (rows, rules), *more = rule_sets(["a", "b"], Rules(), {})
    assert (rows.tolist(), rules, more) == ([0, 1], Rules(), [])


def test_no_lots_have_the_rules_of_the_area():
    ((rows, rules),) = rule_sets([], Rules(), OWN)
    assert (len(rows), rules) == (0, Rules())


def test_where_every_lot_has_rules_of_its_own_only_theirs_are_given():
    ((rows, rules),) = rule_sets(np.array(["b", "c"], dtype=object), Rules(), OWN)
    assert (rows.tolist(), rules.house_setback_m) == ([0, 1], 5.0)


def test_rules_of_one_lot():
    assert rules_of("b", Rules(), OWN) == Rules(house_setback_m=5.0)
    assert rules_of("a", Rules(), OWN) == Rules()


def test_own_rules_as_words():
    assert own_words({"slope_limit_pct": 10.0, "gardens_most": 2}) == "gardens_most 2; slope_limit_pct 10"


@pytest.mark.parametrize("name", AREA_ONLY)
def test_what_no_lot_can_have_of_its_own_is_a_rule(name):
    assert name in Rules.model_fields


def test_weights_and_values_are_the_areas():
    compared = [name for name in Rules.model_fields if name.startswith(("weight_", "value_"))]
    assert len(compared) == 9
    assert set(compared) <= set(AREA_ONLY)
