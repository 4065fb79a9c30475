import numpy as np
import pandas as pd
import pytest

from screening.fields import TABLES, conform
from screening.rules import Rules
from screening.siting.choose import choose, first_of_lots, reasons_of, severity_of

GOOD = {
    "lot_id": "A", "x_m": 0.0, "y_m": 0.0, "aspect": 2.0, "room_m2": 20.0, "ponding_area_m2": 8.0,
    "draining_area_m2": 60.0, "capture_depth_mm": 38.0, "capture_most_mm": 90.0, "eligible": True, "run_m": 8.4,
    "fall_m": 0.2, "fall_needed_m": 0.14, "fall_margin_m": 0.08, "fall_error_m": 0.08, "lip_m": 100.0,
    "ground_m": 100.0, "slope_pct": 3.0, "upslope_m2": 20.0, "kept_of_lot_share": 0.5, "crosses_easement": False,
    "under_crown": False, "hsg": "B", "hsg_source": "survey", "near_groups": "", "chance_a": 0.0,
    "chance_b": 1.0, "chance_c": 0.0, "chance_d": 0.0, "ksat_um_s": 2.2, "ksat_source": "group", "ksat_spread": 2.0,
    "carved_m": 0.0, "class_code": 0,
}  # fmt: skip


def table(*changes):
    rows = [{**GOOD, "candidate": number, **change} for number, change in enumerate(changes)]
    return conform(pd.DataFrame(rows), [field for field in TABLES["candidates"] if field.dtype != "geometry"])


def codes(change, severity=None):
    rows = reasons_of(table(change), Rules())
    return set(rows["code"] if severity is None else rows.loc[rows["severity"] == severity, "code"])


def test_a_good_place_has_nothing_against_it():
    assert codes({}) == set()


@pytest.mark.parametrize(
    ("change", "code", "severity"),
    [
        ({"fall_margin_m": -0.1}, "fall", "look closer"),
        ({"fall_margin_m": -0.2}, "fall", "rules out"),
        ({"slope_pct": 12.0}, "slope_look", "look closer"),
        ({"slope_pct": 16.9}, "slope", "look closer"),
        ({"slope_pct": 17.1}, "slope", "rules out"),
        ({"capture_depth_mm": 30.0, "capture_most_mm": 30.0, "eligible": False}, "under_minimum", "rules out"),
        ({"capture_depth_mm": 30.0, "capture_most_mm": 40.0, "eligible": False}, "under_minimum", "look closer"),
        ({"draining_area_m2": 14.0}, "small_share", "look closer"),
        ({"draining_area_m2": 186.0}, "draining_area", "rules out"),
        ({"upslope_m2": 500.0}, "upslope", "look closer"),
        ({"water_table_m": 0.40}, "water_table", "rules out"),
        ({"water_table_m": 0.80}, "water_table", "test soil"),
        ({"bedrock_m": 0.50}, "bedrock", "rules out"),
        ({"bedrock_m": 0.90}, "bedrock", "test soil"),
        ({"overflow_threatens": "r1"}, "overflow", "look closer"),
        ({"overflow_may_pass": "r1"}, "overflow_may_pass", "note"),
        ({"crosses_easement": True}, "consent", "look closer"),
        ({"crosses_service": True}, "service", "note"),
        ({"under_crown": True}, "tree_crown", "look closer"),
        ({"look_at": "ground to look at"}, "avoid", "look closer"),
        ({"carved_m": 0.5}, "carved", "look closer"),
        ({"hsg": "C", "chance_b": 0.0, "chance_c": 1.0, "ksat_um_s": 1.1}, "soil_group", "test soil"),
        ({"hsg": "B/D", "chance_b": 0.0, "chance_d": 1.0}, "soil_group", "test soil"),
        ({"hsg": "unknown", "hsg_source": "none", "chance_b": 0.0}, "soil_unknown", "test soil"),
        ({"near_groups": "D"}, "soil_line", "test soil"),
        ({"failed_test_m": 14.0}, "failed_test", "look closer"),
        ({"ksat_source": "test", "ksat_um_s": 1.0}, "pond_drawdown", "rules out"),
        ({"ksat_um_s": 80.0}, "fast_soil", "note"),
    ],
)
def test_every_limit(change, code, severity):
    assert codes(change, severity) == {code}


def test_a_good_test_settles_the_group():
    assert codes({"hsg": "D", "chance_b": 0.0, "chance_d": 1.0, "ksat_source": "test", "ksat_um_s": 3.3}) == set()


def test_mapped_soil_rules_out_only_when_as_good_as_sure():
    slow = {"hsg": "D", "chance_b": 0.0, "chance_d": 1.0, "ksat_um_s": 0.1, "ksat_source": "survey"}
    assert "pond_drawdown" in codes(slow, "rules out")
    assert "pond_drawdown" not in codes({**slow, "chance_b": 0.3, "chance_d": 0.7}, "rules out")


def test_the_order_of_preference():
    worse = [
        {"hsg": "C", "chance_b": 0.0, "chance_c": 1.0, "kept_of_lot_share": 0.9},
        {"kept_of_lot_share": 0.44, "run_m": 2.0},
        {"aspect": 3.0},
        {"fall_margin_m": 0.03, "run_m": 2.0},
        {"run_m": 9.1},
        {"slope_pct": 6.0},
    ]
    for change in worse:
        assert choose(table(change, {}), Rules()).tolist() == [False, True], change
        assert choose(table({}, change), Rules()).tolist() == [True, False], change
    assert choose(table({}, {}), Rules()).tolist() == [True, False]


def test_a_place_with_fewer_doubts_comes_first():
    two = {"crosses_easement": True, "under_crown": True, "kept_of_lot_share": 0.9}
    assert choose(table(two, {"crosses_easement": True}), Rules()).tolist() == [False, True]


def test_a_note_does_not_cost_water():
    """A lead across a buried service is a caution, no reason to keep less water out of the drain."""
    assert choose(table({"crosses_service": True}, {"kept_of_lot_share": 0.3}), Rules()).tolist() == [True, False]


def test_where_a_roof_share_may_be_nothing_too_small_a_place_is_looked_at():
    small = {"capture_depth_mm": 30.0, "capture_most_mm": float("nan"), "eligible": False}
    assert codes(small, "look closer") == {"under_minimum"}


def test_none_is_chosen_where_all_are_ruled_out():
    assert not choose(table({"slope_pct": 30.0}, {"fall_margin_m": -0.5}), Rules()).any()


def test_changed_rules_choose_anew():
    steep = table({"slope_pct": 11.0}, {"kept_of_lot_share": 0.3})
    assert choose(steep, Rules()).tolist() == [True, False]
    assert choose(steep, Rules(slope_look_pct=10.0)).tolist() == [False, True]


def test_one_spot_a_lot_in_any_order_of_rows():
    rows = pd.concat([table({}, {"run_m": 3.0}), table({}, {"run_m": 2.0}).assign(lot_id="B")], ignore_index=True)
    mixed = rows.iloc[[2, 0, 3, 1]].reset_index(drop=True)
    chosen = mixed[choose(mixed, Rules())]
    assert chosen[["lot_id", "candidate"]].values.tolist() == [["B", 1], ["A", 1]]


def test_severity_counts_the_heaviest_reasons():
    rows = table({}, {"crosses_easement": True, "under_crown": True, "near_groups": "D"})
    severity, count = severity_of(reasons_of(rows, Rules()), 2)
    assert severity.tolist() == [0, 3]
    assert count.tolist() == [0, 2]
    assert first_of_lots(rows, severity, count).tolist() == [0]


def test_an_empty_table():
    assert choose(table({}).iloc[:0], Rules()).tolist() == []
    assert np.array_equal(severity_of(reasons_of(table({}).iloc[:0], Rules()), 0)[0], [])


@pytest.mark.parametrize(
    ("change", "near"),
    [
        ({"fall_margin_m": -0.23}, True),  # two sigma are 0.16, three 0.24
        ({"fall_margin_m": -0.25}, False),
        ({"slope_pct": 17.9}, True),
        ({"slope_pct": 18.1}, False),
        ({"water_table_m": 0.45}, True),  # the bed's bottom lies at 0.525
        ({"water_table_m": 0.40}, False),
        ({"bedrock_m": 0.45}, True),
        ({"bedrock_m": 0.40}, False),
    ],
)
def test_what_is_a_near_pass(change, near):
    rows = reasons_of(table(change), Rules())
    assert rows.loc[rows["severity"] == "rules out", "near"].tolist() == [near]


def test_a_slow_bed_is_told_by_the_ponds_limit():
    """6 mm/h, tested: a pond of 150 mm takes 25 h, it and a bed of 1.2 m at 0.4 take 105 of 72 h: as 52.5 of 36."""
    rules = Rules(bed_depth_mm=1200)
    rows = reasons_of(table({"ksat_source": "test", "ksat_um_s": 6.0 / 3.6}), rules)
    slow = rows[rows["code"] == "pond_drawdown"].iloc[0]
    assert (slow["measured"], slow["limit"]) == (pytest.approx(52.5, abs=0.1), 36.0)
