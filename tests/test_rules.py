import pytest
from pydantic import ValidationError

from screening.rules import Rules
from screening.units import FOOT_M, INCH_MM

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


def test_published_distances_and_depths_are_the_defaults():
    """Feet and inches as printed, within the rounding to metres; all of them may be changed.

    A state stormwater manual's tables: 10 ft from a foundation, 50 ft from a private well, 35 ft from a septic field,
    50 ft for a larger garden. A state rain garden handbook, page 13: advice within 50 ft of steep ground; 50 ft
    uphill of a septic field, 10 ft downhill. EPA 832-F-99-012: 6 in of ponding.
    """
    rules = Rules()
    assert rules.house_setback_m == pytest.approx(10 * FOOT_M, rel=0.02)
    assert rules.well_setback_m == pytest.approx(50 * FOOT_M, rel=0.02)
    assert rules.septic_uphill_setback_m == pytest.approx(50 * FOOT_M, rel=0.02)
    assert 10 * FOOT_M < rules.septic_downhill_setback_m < 35 * FOOT_M
    assert rules.steep_ground_setback_m == pytest.approx(50 * FOOT_M, rel=0.02)
    assert rules.ponding_depth_mm == pytest.approx(6 * INCH_MM, rel=0.02)


def test_the_default_elevation_error_is_that_of_lidar_of_quality_level_2():
    """RMSE 10 cm at quality levels 1 and 2, 19.6 cm at 95% (from secondary texts of the lidar specification)."""
    assert Rules().elevation_error_m == 0.10
    assert 1.96 * Rules().elevation_error_m == pytest.approx(0.196)


def test_a_berm_holds_pond_and_freeboard():
    """Common practice: a berm of 8 in for 6 in of ponding; 3 in of mulch; 2 in of compost on the berm."""
    rules = Rules()
    assert (rules.ponding_depth_mm + rules.berm_freeboard_mm) / INCH_MM == pytest.approx(8, abs=0.15)
    assert rules.mulch_mm / INCH_MM == pytest.approx(3, abs=0.05)
    assert rules.berm_compost_mm / INCH_MM == pytest.approx(2, abs=0.05)
