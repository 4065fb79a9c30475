from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.errors import BadInput
from screening.inputs.findings import Findings
from screening.inputs.rules_file import read_rules, rules_from, rules_toml
from screening.rules import RULE_GROUPS, Rules


def faults(**given_rules):
    findings = Findings()
    rules_from(given_rules, findings)
    return [str(fault) for fault in findings.faults]


def test_the_printed_file_reads_back_to_the_same_rules(tmp_path):
    path = tmp_path / "rules.toml"
    path.write_text(rules_toml(Rules()), encoding="utf-8")
    assert read_rules(path) == Rules()


@settings(max_examples=40, deadline=None)
@given(
    st.floats(0, 30),
    st.floats(0.01, 2),
    st.integers(0, 1000),
    st.booleans(),
    st.sampled_from(["hip", "gable", "flat"]),
)
def test_any_rules_read_back(tmp_path_factory, setback, hollow, weight, drained, kind):
    rules = Rules(
        house_setback_m=setback,
        hollow_depth_m=hollow,
        weight_soil=weight,
        dual_group_drained=drained,
        roof_kind=kind,
    )
    path = tmp_path_factory.mktemp("rules") / "rules.toml"
    path.write_text(rules_toml(rules), encoding="utf-8")
    assert read_rules(path) == rules


def test_the_printed_file_tells_unit_default_range_and_basis_of_every_rule():
    text = rules_toml(Rules(house_setback_m=4.5))
    lines = text.splitlines()
    at = lines.index("house_setback_m = 4.5")
    assert lines[at - 1] == "# house to garden [m]; default 3.0; 0 to 30; CP, P"
    for name, info in Rules.model_fields.items():
        row = next(number for number, line in enumerate(lines) if line.startswith(f"{name} = "))
        assert lines[row - 1].startswith(f"# {info.description}")
        assert f"default {str(info.default).lower()}" in lines[row - 1].replace('"', "").lower()
        assert info.json_schema_extra["basis"] in lines[row - 1]
    assert all(head in text for _, head in RULE_GROUPS)


def test_feet_and_inches_are_converted_once_and_the_text_is_kept():
    findings = Findings()
    read = rules_from(
        {
            "house_setback_ft": 10,
            "capture_depth_in": Decimal("1.50"),
            "capture_depth_least_in": Decimal("1.50"),
            "mulch_in": 3,
            "pipe_diameter_in": 4,
            "ponding_area_least_ft2": 40,
            "infiltration_b_in_h": Decimal("0.3"),
            "bed_depth_mm": 305,
        },
        findings,
    )
    assert findings.faults == []
    rules = read.rules
    assert rules.house_setback_m == 10 * 0.3048
    assert rules.capture_depth_mm == pytest.approx(38.1, rel=1e-15)
    assert rules.mulch_mm == pytest.approx(76.2, rel=1e-15)
    assert rules.pipe_diameter_m == pytest.approx(0.1016, rel=1e-15)
    assert rules.ponding_area_least_m2 == pytest.approx(40 * 0.09290304, rel=1e-15)
    assert rules.infiltration_b_mm_h == pytest.approx(7.62, rel=1e-15)
    assert read.written["capture_depth_mm"] == "capture_depth_in = 1.50"
    assert read.written["bed_depth_mm"] == "bed_depth_mm = 305"
    assert rules.garage_setback_m == Rules().garage_setback_m


def test_every_fault_is_told_with_nearest_key_and_range():
    told = faults(
        house_setbak_m=3,
        slope_limit_pct=80,
        basement_setback_ft=200,
        visits=Decimal("2.5"),
        roof_kind="thatch",
        dual_group_drained="yes",
        mulch_mm="thick",
        shed_setback_m=1,
        shed_setback_ft=3,
    )
    assert len(told) == 8
    assert "'house_setback_m'" in told[0]
    assert "slope_limit_pct is 80, out of its range" in told[1]
    assert "from 1 to 50 %" in told[1]
    assert "basement_setback_ft is 200 = 60.96 m" in told[2]
    assert "whole number, got 2.5" in told[3]
    assert "hip, gable, flat" in told[4]
    assert "true or false" in told[5]
    assert "must be a number, got 'thick'" in told[6]
    assert "'shed_setback_ft' and 'shed_setback_m' are the same rule" in told[7]


def test_rules_that_limit_each_other():
    assert "slope_look_pct = 20 is above slope_limit_pct = 15 (default)" in faults(slope_look_pct=20)[0]
    said = "infiltration_c_mm_h = 9 is above infiltration_b_mm_h = 8 (default)"
    assert said in faults(infiltration_c_mm_h=9)[0]
    alike = {f"infiltration_{group}_mm_h": 6 for group in "abcd"}
    assert "infiltration_a_mm_h and infiltration_d_mm_h are both 6" in faults(**alike)[0]
    assert faults(**{**alike, "infiltration_a_mm_h": 7}) == []
    assert "capture_depth_least_mm" in faults(capture_depth_mm=25)[0]
    assert faults(capture_depth_mm=25, capture_depth_least_mm=25) == []
    assert faults(slope_look_pct=20, slope_limit_pct=20) == []


def test_not_a_number_is_no_rule():
    assert "out of its range" in faults(house_setback_m=float("nan"))[0]
    assert "must be a number" in faults(house_setback_m=True)[0]


def test_a_rate_per_area_has_no_alias():
    assert "Unknown rule" in faults(run_per_roof_ft_per_ft2=1)[0]


def test_a_file_that_cannot_be_read(tmp_path):
    with pytest.raises(BadInput, match="cannot be opened"):
        read_rules(tmp_path / "none.toml")
    (tmp_path / "bad.toml").write_text("a = = 1")
    with pytest.raises(BadInput, match="is not TOML"):
        read_rules(tmp_path / "bad.toml")
    (tmp_path / "odd.toml").write_text("visits = 0\nvisit = 3\n")
    with pytest.raises(BadInput) as told:
        read_rules(tmp_path / "odd.toml")
    assert len(told.value.faults) == 2
    assert {fault.file for fault in told.value.faults} == {"odd.toml"}
