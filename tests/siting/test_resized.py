"""Gardens sized anew for another capture depth, worked by hand on one slope."""

import numpy as np
import pytest

from screening.rules import Rules
from screening.siting.resized import resized
from tests.siting.test_choose import table

RULES = Rules()
PER_MM = 0.95 / 270.0


def sized(depth_mm, drop_m=0.2, margin_m=0.0, error_m=0.05, room_m2=12.0):
    """A garden of 8.02 m2 for 60 m2 of roof on ground of 100 m, its lowest lip as its drop has it, at another depth."""
    low = max(100.0 - drop_m, 100.0 + drop_m - 0.45)
    row = {
        "ponding_area_m2": 60 * 38 * PER_MM, "drop_m": drop_m, "lip_low_m": low, "lip_high_m": low + 0.2,
        "lip_m": min(100.0, low + margin_m), "fall_margin_m": margin_m, "fall_error_m": error_m, "room_m2": room_m2,
    }  # fmt: skip
    plain = table(row).assign(**{name: [value] for name, value in row.items()})
    rules = RULES.model_copy(update={"capture_depth_mm": depth_mm, "capture_depth_least_mm": min(depth_mm, 38.0)})
    return resized(plain, RULES, rules).iloc[0]


def test_a_larger_garden_reaches_down_as_the_root_of_its_area():
    found = sized(50.0, margin_m=-0.09)
    assert found["ponding_area_m2"] == pytest.approx(60 * 50 * PER_MM, abs=0.05)
    drop = 0.2 * np.sqrt(50 / 38)
    assert found["drop_m"] == pytest.approx(drop, abs=1e-3)
    # the deepest cut decides: 100 + 0.229 - 0.45; the lip may lie at 99.80 - 0.09 at most
    assert found["lip_low_m"] == pytest.approx(100 + drop - 0.45, abs=1e-3)
    assert found["fall_margin_m"] == pytest.approx(99.71 - (100 + drop - 0.45), abs=1e-3)
    assert found["class_code"] == 1  # 0.07 short, two sigma are 0.10
    assert found["cut_m"] == pytest.approx(0.45, abs=0.01)
    assert found["berm_m"] == pytest.approx(found["lip_m"] + 0.05 - (100 - drop), abs=0.01)
    assert found["berm_m"] > 0.05


def test_a_garden_keeps_its_size_where_a_smaller_one_would_lose_its_fall():
    assert sized(19.0)["ponding_area_m2"] == pytest.approx(60 * 38 * PER_MM, abs=0.05)
    assert sized(19.0, margin_m=0.2)["ponding_area_m2"] == pytest.approx(60 * 19 * PER_MM, abs=0.05)


def test_a_garden_that_lacks_fall_grows_no_further_than_its_room():
    found = sized(40.0, drop_m=0.1, margin_m=-0.05, error_m=0.02)
    assert found["ponding_area_m2"] == 12.0
    assert found["class_code"] == 1
    wide = sized(40.0, drop_m=0.1, margin_m=-0.05, error_m=0.02, room_m2=60.0)
    assert wide["class_code"] == 0
    assert 100.0 + wide["drop_m"] - wide["lip_low_m"] == pytest.approx(0.45, abs=0.001)
