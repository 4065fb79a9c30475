import pytest
from pydantic import ValidationError

from screening.rules import Rules

UNIT_OF_ENDING = {
    "_m": "m",
    "_m2": "m2",
    "_m3": "m3",
    "_mm": "mm",
    "_pct": ("%", "% points"),
    "_h": "h",
    "_mm_h": "mm/h",
    "_m_per_m2": "m/m2",
}
BASES = {"CP", "P", "M", "J"}


@pytest.mark.parametrize("name", list(Rules.model_fields))
def test_every_rule_has_a_unit_a_basis_a_meaning_and_a_default_in_range(name):
    info = Rules.model_fields[name]
    assert info.description
    assert set(info.json_schema_extra["basis"].split(", ")) <= BASES
    endings = [ending for ending in UNIT_OF_ENDING if name.endswith(ending)]
    if endings:
        unit = UNIT_OF_ENDING[max(endings, key=len)]
        assert info.json_schema_extra["unit"] in (unit if isinstance(unit, tuple) else (unit,)), name
    Rules(**{name: info.default})


def test_rules_cannot_be_changed_and_refuse_what_is_out_of_range_all_at_once():
    rules = Rules()
    with pytest.raises(ValidationError):
        rules.house_setback_m = 1
    with pytest.raises(ValidationError) as caught:
        Rules(house_setback_m=-1, slope_limit_pct=500, moon=1)
    assert len(caught.value.errors()) == 3


def test_defaults_that_are_facts_of_the_trade():
    """Common practice: 6 in of ponding, 12 in of bed, 1.5 in least capture, native share 0.75, 36 h to empty."""
    rules = Rules()
    assert round(rules.ponding_depth_mm / 25.4, 1) == 5.9
    assert round(rules.bed_depth_mm / 25.4) == 12
    assert round(rules.capture_depth_least_mm / 25.4, 1) == 1.5
    assert rules.native_share_least == 0.75
    assert rules.pond_drawdown_h == 36
