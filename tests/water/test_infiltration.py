"""The published infiltration equations, and that the steady rate of drawdown and year is on their safe side."""

import numpy as np
import pytest

from screening.water.drawdown import pond_drawdown_h
from tests.water.infiltration import (
    TEXTURES,
    green_ampt_mm,
    green_ampt_rate_mm_h,
    horton_mm,
    horton_rate_mm_h,
    philip_mm,
    ponding_time_h,
)

# Rawls, Brakensiek and Miller 1983, as printed: porosity, effective porosity, suction [cm], K [cm/h]
PRINTED = """\
sand 0.437 0.417 4.95 11.78
loamy-sand 0.437 0.401 6.13 2.99
sandy-loam 0.453 0.412 11.01 1.09
loam 0.463 0.434 8.89 0.34
silt-loam 0.501 0.486 16.68 0.65
sandy-clay-loam 0.398 0.330 21.85 0.15
clay-loam 0.464 0.309 20.88 0.10
silty-clay-loam 0.471 0.432 27.30 0.10
sandy-clay 0.430 0.321 23.90 0.06
silty-clay 0.479 0.423 29.22 0.05
clay 0.475 0.385 31.63 0.03
"""
SILT_LOAM = {"ksat_mm_h": 6.5, "suction_mm": 167.0, "deficit": 0.7 * 0.486}


def test_parameters_by_texture():
    rows = [line.split() for line in PRINTED.splitlines()]
    assert [name.replace("-", " ") for name, *_ in rows] == list(TEXTURES)
    for (_, *printed), texture in zip(rows, TEXTURES.values(), strict=True):
        porosity, effective, suction_cm, k_cm_h = map(float, printed)
        assert tuple(texture) == pytest.approx((porosity, effective, 10 * suction_cm, 10 * k_cm_h), rel=1e-12)


def test_green_ampt_by_texture():
    # computed: ponded for an hour at effective saturation 0.30, cm
    computed = [15.322, 5.445, 3.403, 1.591, 3.166, 1.332, 1.018, 1.352, 0.843, 0.964, 0.735]
    _, effective, suction, ksat = np.array(list(TEXTURES.values())).T
    found = green_ampt_mm(1.0, ksat, suction, 0.7 * effective)
    assert found / 10 == pytest.approx(computed, abs=0.002)
    assert (found >= ksat).all()


def test_green_ampt_under_a_pond_from_the_start():
    # Chow, Maidment and Mays 1988, example 4.3.1 (printed 3.17 cm and 1.81 cm/h from memory; digits computed)
    depth = green_ampt_mm(1.0, **SILT_LOAM)
    rate = green_ampt_rate_mm_h(depth, **SILT_LOAM)
    assert (depth / 10, rate / 10) == (pytest.approx(3.17, abs=0.01), pytest.approx(1.81, abs=0.01))
    rounded = {"ksat_mm_h": 6.5, "suction_mm": 56.8, "deficit": 1.0}  # suction x deficit 5.68 cm, as the book rounds it
    depth = green_ampt_mm(1.0, **rounded)
    rate = green_ampt_rate_mm_h(depth, **rounded)
    assert (depth / 10, rate / 10) == (pytest.approx(3.1664, abs=1e-3), pytest.approx(1.8156, abs=1e-3))


def test_rain_that_ponds_after_a_while():
    # Chow, Maidment and Mays 1988, examples 4.4.1 and 4.4.2 (printed values from memory; digits computed)
    ponded = ponding_time_h([10.0, 50.0], **SILT_LOAM)
    assert ponded == pytest.approx([10.5, 0.17], abs=0.06)
    assert ponded == pytest.approx([10.5486, 0.16975], rel=1e-3)
    assert ponded * [1.0, 5.0] == pytest.approx([10.5486, 0.84874], rel=1e-3)
    depth = green_ampt_mm(1.0 - ponded[1], **SILT_LOAM, soaked_mm=50.0 * ponded[1])
    rate = green_ampt_rate_mm_h(depth, **SILT_LOAM)
    assert (depth / 10, rate / 10) == (pytest.approx(3.02, abs=0.01), pytest.approx(1.87, abs=0.01))
    assert (depth / 10, rate / 10) == (pytest.approx(3.01765, abs=2e-3), pytest.approx(1.87347, abs=2e-3))
    assert ponding_time_h(6.5, **SILT_LOAM) == np.inf


def test_a_storm_on_slow_ground():
    # a published class example: 0.5 cm/h for 2 h on K 0.044 cm/h, suction 22.4 cm, deficit 0.25: ponding at 0.54 cm
    # and 1.08 h as printed; 0.8968 cm soaked in, 0.3188 cm/h and 0.1032 cm run off at the end computed
    ground = {"ksat_mm_h": 0.44, "suction_mm": 224.0, "deficit": 0.25}
    ponded = float(ponding_time_h(5.0, **ground))
    assert (ponded, 0.5 * ponded) == (pytest.approx(1.08, abs=0.005), pytest.approx(0.54, abs=0.005))
    end = green_ampt_mm(2.0 - ponded, **ground, soaked_mm=5.0 * ponded)
    assert end / 10 == pytest.approx(0.8968, abs=1e-3)
    assert green_ampt_rate_mm_h(end, **ground) / 10 == pytest.approx(0.3188, abs=1e-3)
    assert 2 * 0.5 - end / 10 == pytest.approx(0.1032, abs=1e-3)


def test_no_time_and_no_conductivity_soak_nothing_in():
    assert green_ampt_mm([0.0, 2.0], [6.5, 0.0], 167.0, 0.34).tolist() == [0.0, 0.0]
    assert green_ampt_mm(0.0, 6.5, 167.0, 0.34, soaked_mm=5.0) == 5.0


def test_horton():
    # a published exercise: f0 8, fc 0.5 cm/h, k 0.4 /h: 3.870 and 1.515 cm/h at 2 and 5 h, 7.387 cm between
    curve = {"first_mm_h": 80.0, "final_mm_h": 5.0, "decay_per_h": 0.4}
    assert horton_rate_mm_h([2.0, 5.0], **curve) / 10 == pytest.approx([3.870, 1.515], abs=1e-3)
    soaked = np.diff(horton_mm([2.0, 5.0], **curve))[0]
    assert soaked / 10 == pytest.approx(7.387, abs=1e-3)
    assert soaked >= 5.0 * 3


def test_philip():
    # Chow, Maidment and Mays 1988, example 4.2.1 (from memory): 100 cm3 through 40 cm2 in 15 min lying flat give S
    # 5 cm/h^0.5; with K 0.4 cm/h 3.74 cm in half an hour (3.7355 computed)
    flat = philip_mm(0.25, 50.0, 0.0)
    assert flat == pytest.approx(100.0 / 40.0 * 10)
    assert philip_mm(0.5, 50.0, 4.0) / 10 == pytest.approx(3.74, abs=0.005)
    assert philip_mm(0.5, 50.0, 4.0) / 10 == pytest.approx(3.7355, abs=5e-5)


@pytest.mark.parametrize("texture", TEXTURES)
def test_a_pond_empties_no_later_than_drawdown_says(texture):
    ground = TEXTURES[texture]
    hours = pond_drawdown_h(150.0, ground.ksat_mm_h)
    nearly_full = 0.05 * ground.effective_porosity
    assert green_ampt_mm(hours, ground.ksat_mm_h, ground.suction_mm, nearly_full) >= 150.0
