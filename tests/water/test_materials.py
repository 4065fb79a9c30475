import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.rules import Rules
from screening.water.materials import BILL_COLUMNS, bill_of_materials, mean_berm_height_m, plants_on_area

RULES = Rules()


def test_plants_on_a_triangular_grid():
    # 0.45 m apart is 5.7 a square metre (common practice)
    assert plants_on_area(100.0, 0.45) == 570
    assert plants_on_area(8.0, 1.2) == 6
    assert plants_on_area(0.0, 0.45) == 0


def test_a_garden_on_level_ground():
    row = bill_of_materials(8.0, 16.0, 0.0, 0.05, 0.0, 7.0, 2.5, RULES).iloc[0]
    assert list(row.index) == list(BILL_COLUMNS)
    assert row["hole_m3"] == pytest.approx(8 * 0.525)
    assert row["mix_m3"] == pytest.approx(2.4)
    # 2:1:1 of sand, topsoil and compost
    assert row[["sand_m3", "topsoil_m3", "compost_m3"]].tolist() == pytest.approx([1.2, 0.6, 0.6])
    assert row["mulch_m3"] == pytest.approx(0.6)
    # a ridge 5 cm high of triangular section over 8 m2 of ring
    assert row["berm_m3"] == pytest.approx(8 * 0.05 / 2)
    assert row["berm_compost_m3"] == pytest.approx(0.4)
    assert row["spoil_m3"] == pytest.approx(4.2 - 0.2)
    assert row[["turf_stripped_m2", "turf_laid_m2"]].tolist() == [16.0, 8.0]
    assert row[["pipe_m", "swale_m"]].tolist() == [7.0, 2.5]
    # a quarter of the area to shrubs at 1.2 m, the rest to plants at 0.45 m, three quarters of them native
    assert row[["plants", "shrubs", "native_least"]].tolist() == [34.0, 2.0, 27.0]


def test_a_garden_on_a_slope_digs_more_where_its_lip_is_lower():
    rows = bill_of_materials(
        [8.0, 8.0], [16.0, 16.0], [0.0, -0.1], [0.13, 0.05], [0.08, 0.2], [0.0, 0.0], [7.0, 7.0], RULES
    )
    assert rows["hole_m3"].tolist() == pytest.approx([8 * 0.525, 8 * 0.625])
    assert rows["swale_m"].tolist() == [7.0, 7.0]
    assert rows["berm_m3"][0] > rows["berm_m3"][1]


def test_mean_height_of_a_berm():
    assert mean_berm_height_m(0.2, 0.2) == pytest.approx(0.2)
    assert mean_berm_height_m(0.3, 0.1) == pytest.approx(0.2)  # above ground all round: the middle
    assert mean_berm_height_m(0.2, -0.2) == pytest.approx(0.2 / np.pi)  # half the ring: the mean of a half cosine
    assert mean_berm_height_m(-0.1, -0.1) == 0.0
    assert mean_berm_height_m(0.0, -0.4) == pytest.approx(0.0, abs=1e-12)


@settings(max_examples=50, deadline=None)
@given(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_mean_height_of_a_berm_equals_going_round_it(low, high):
    angle = (np.arange(20000) + 0.5) * np.pi / 20000
    heights = np.maximum((low + high) / 2 + (low - high) / 2 * np.cos(angle), 0.0)
    assert mean_berm_height_m(low, high) == pytest.approx(heights.mean(), abs=1e-7)
