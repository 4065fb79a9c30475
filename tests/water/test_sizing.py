import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.rules import Rules
from screening.units import FOOT_M, INCH_MM, SQUARE_FOOT_M2
from screening.water import sizing

SECTION = {"runoff_coefficient": 0.95, "ponding_depth_mm": 150.0, "bed_depth_mm": 300.0, "void_fraction": 0.40}


def test_the_worked_case_of_the_trade():
    # common practice: 500 ft2 onto 100 ft2 with a bed of 1 ft holds 2.3 in
    depth = sizing.capture_depth_mm(
        100 * SQUARE_FOOT_M2,
        500 * SQUARE_FOOT_M2,
        runoff_coefficient=0.95,
        ponding_depth_mm=6 * INCH_MM,
        bed_depth_mm=12 * INCH_MM,
        void_fraction=0.40,
    )
    assert depth / INCH_MM == pytest.approx(2.2737, abs=1e-4)
    assert round(float(depth) / INCH_MM, 1) == 2.3


def test_the_area_per_draining_area_of_the_default_rules():
    assert sizing.ponding_area_of_rules_m2(1.0, Rules()) == pytest.approx(0.1337, abs=5e-5)
    inches = sizing.ponding_area_m2(
        1.0,
        1.5 * INCH_MM,
        runoff_coefficient=0.95,
        ponding_depth_mm=6 * INCH_MM,
        bed_depth_mm=12 * INCH_MM,
        void_fraction=0.4,
    )
    assert inches == pytest.approx(0.1319, abs=5e-5)
    assert sizing.ponding_area_of_rules_m2([60.0, 67.5], Rules()) == pytest.approx([8.0222, 9.025], abs=1e-3)


def test_the_depth_held_where_one_downspout_fits():
    # room for 7.0 m2: two downspouts of 35 m2 get 28 mm, one alone 57 mm
    depth = sizing.capture_depth_mm(7.0, [70.0, 35.0], **SECTION)
    assert np.round(depth) == pytest.approx([28, 57])


def test_storage_of_a_layered_section():
    # 100 ft2, pond 0.5 ft, mix 2 ft at 0.25, gravel 1 ft at 0.40: 140 ft3 (computed from V = A (dp + dm nm + dg ng))
    foot_mm = FOOT_M * 1000
    mix = sizing.storage_m3(100 * SQUARE_FOOT_M2, 0.5 * foot_mm, 2 * foot_mm, 0.25)
    gravel = sizing.storage_m3(100 * SQUARE_FOOT_M2, 0.0, foot_mm, 0.40)
    assert (mix + gravel) / FOOT_M**3 == pytest.approx(140.0)


@settings(max_examples=50, deadline=None)
@given(
    st.floats(1, 500),
    st.floats(5, 200),
    st.floats(0.5, 1),
    st.floats(50, 450),
    st.floats(0, 1200),
    st.floats(0.05, 0.6),
)
def test_sizing_goes_both_ways(area, depth, coefficient, pond, bed, void):
    section = {
        "runoff_coefficient": coefficient,
        "ponding_depth_mm": pond,
        "bed_depth_mm": bed,
        "void_fraction": void,
    }
    garden = sizing.ponding_area_m2(area, depth, **section)
    assert sizing.capture_depth_mm(garden, area, **section) == pytest.approx(depth)
    assert sizing.draining_area_m2(garden, depth, **section) == pytest.approx(area)
    # the garden's storage is what the area sheds
    assert sizing.storage_m3(garden, pond, bed, void) == pytest.approx(coefficient * depth * area / 1000)


def test_nothing_draining_has_no_capture_depth():
    assert np.isnan(sizing.capture_depth_mm(8.0, [0.0, np.nan], **SECTION)).all()


def test_least_and_most_sizes():
    area, holds = sizing.bounded_ponding_area_m2(
        [1.0, 8.0, 8.0, 40.0, 8.0], [20.0, 20.0, 6.0, 50.0, 2.0], least_m2=3.0, most_m2=28.0
    )
    assert area == pytest.approx([3.0, 8.0, 6.0, 28.0, np.nan], nan_ok=True)
    assert holds.tolist() == [True, True, False, False, False]


def test_depths_of_the_hole():
    # common practice: berm 8 in (pond 6, freeboard 2), bed 12 in: dig 20 in
    crest = sizing.crest_to_bed_mm(0.0, 6 * INCH_MM, 2 * INCH_MM)
    assert crest / INCH_MM == pytest.approx(8.0)
    assert sizing.excavation_depth_mm(12 * INCH_MM, crest) / INCH_MM == pytest.approx(20.0)
    assert sizing.crest_to_bed_mm(75.0, 150.0, 50.0) == pytest.approx(275.0)
    # a water table at 0.80 m leaves 0.28 m under the bed of the default rules
    assert 0.80 - sizing.bed_bottom_depth_m(150.0, 75.0, 300.0) == pytest.approx(0.275)
    assert sizing.bed_bottom_depth_m(150.0, 75.0, 300.0, lip_over_ground_m=0.1) == pytest.approx(0.425)


def test_berm_and_cut_on_a_slope():
    # 4% across 2 m either way, lip at the ground of the centre
    assert sizing.berm_height_m(100.0, 99.92, 50.0) == pytest.approx(0.13)
    assert sizing.cut_height_m(100.0, 100.08) == pytest.approx(0.08)
    assert sizing.berm_height_m(99.0, 99.92, 50.0) == 0.0
    assert sizing.cut_height_m(101.0, 100.08) == 0.0


def test_the_sizing_table_and_its_inverse():
    table = sizing.sizing_table([30.0, 60.0, 90.0], [150.0, 300.0], Rules())
    assert table.loc[60.0, 300.0] == pytest.approx(8.0222, abs=1e-4)
    assert table.loc[30.0, 150.0] == pytest.approx(0.95 * 38 * 30 / 210)
    assert (table.diff().iloc[1:] > 0).all().all()
    assert (table[300.0] < table[150.0]).all()
    back = sizing.served_area_table(table[300.0].tolist(), [300.0], Rules())
    assert back[300.0].tolist() == pytest.approx([30.0, 60.0, 90.0])
    deeper = sizing.sizing_table([30.0], [300.0], Rules(), capture_depth_mm=50.0)
    assert deeper.iloc[0, 0] == pytest.approx(0.95 * 50 * 30 / 270)
