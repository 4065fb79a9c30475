import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.rules import Rules
from screening.units import FOOT_M, GALLON_M3, INCH_MM, SQUARE_FOOT_M2
from screening.water.storm import STORM_COLUMNS, captured_m3, shed_m3, storm


def test_an_inch_on_a_thousand_square_feet():
    # Schueler 1987 (computed from R = Rv P / 12 ft): 79.17 ft3 at Rv 0.95; the full depth is 83.33 ft3 or 623.4 gal
    area = 1000 * SQUARE_FOOT_M2
    assert shed_m3(area, INCH_MM, 0.95) / FOOT_M**3 == pytest.approx(79.1667, abs=1e-4)
    whole = shed_m3(area, INCH_MM, 1.0)
    assert whole / GALLON_M3 == pytest.approx(623.377, abs=1e-3)
    assert whole == pytest.approx(2.360, abs=5e-4)


def test_captured_stops_at_the_capture_depth():
    assert captured_m3(60.0, [20.0, 38.0, 50.0], 38.0, 0.95) == pytest.approx([1.14, 2.166, 2.166])


def test_kept_is_captured_times_drain_reach():
    rows = storm([120.0, 120.0], [60.0, 60.0], [38.0, 38.0], [0.25, 1.0], Rules())
    assert rows["storm_runoff_m3"].tolist() == pytest.approx([4.332, 4.332])
    assert rows["storm_captured_m3"].tolist() == pytest.approx([2.166, 2.166])
    assert rows["storm_kept_m3"].tolist() == pytest.approx([0.5415, 2.166])


def test_no_garden_captures_nothing_and_an_unknown_reach_keeps_an_unknown_volume():
    rows = storm([120.0, 120.0, 120.0], [np.nan, 0.0, 60.0], [np.nan, 38.0, 38.0], [np.nan, 1.0, np.nan], Rules())
    assert rows["storm_captured_m3"].tolist()[:2] == [0.0, 0.0]
    assert rows["storm_kept_m3"].tolist()[:2] == [0.0, 0.0]
    assert rows["storm_captured_m3"][2] == pytest.approx(2.166)
    assert np.isnan(rows["storm_kept_m3"][2])


@settings(max_examples=50, deadline=None)
@given(st.floats(1, 1000), st.floats(0, 1), st.floats(0, 200), st.floats(0, 1), st.floats(1, 300))
def test_kept_never_exceeds_captured_nor_captured_shed(area, led, depth, reach, rain):
    rows = storm([area], [area * led], [depth], [reach], Rules(), storm_depth_mm=rain)
    shed, captured, kept = (rows[name][0] for name in STORM_COLUMNS[:3])
    assert 0 <= kept <= captured <= shed
    deeper = storm([area], [area * led], [depth + 10], [reach], Rules(), storm_depth_mm=rain)
    assert deeper["storm_captured_m3"][0] >= captured


def test_no_more_is_captured_than_the_lot_sheds():
    rows = storm([40.0, np.nan], [60.0, 60.0], [38.0, 38.0], [1.0, 1.0], Rules())
    assert rows["storm_captured_m3"].tolist() == pytest.approx([0.95 * 0.038 * 40, 0.95 * 0.038 * 60])
