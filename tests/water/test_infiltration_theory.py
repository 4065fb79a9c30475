"""The steady rate behind drawdown and year is on the safe side of the published infiltration equations.

Drawdown and the year's balance let a garden empty at the conductivity of the ground. Wet ground under a pond takes at
least that: each equation here, solved by itself, never falls below it.
"""

import numpy as np
import pytest
from scipy.optimize import brentq

from screening.water.drawdown import pond_drawdown_h

# Rawls, Brakensiek and Miller 1983: effective porosity, suction [cm], K [cm/h]
TEXTURES = {
    "sand": (0.417, 4.95, 11.78),
    "loamy sand": (0.401, 6.13, 2.99),
    "sandy loam": (0.412, 11.01, 1.09),
    "loam": (0.434, 8.89, 0.34),
    "silt loam": (0.486, 16.68, 0.65),
    "sandy clay loam": (0.330, 21.85, 0.15),
    "clay loam": (0.309, 20.88, 0.10),
    "silty clay loam": (0.432, 27.30, 0.10),
    "sandy clay": (0.321, 23.90, 0.06),
    "silty clay": (0.423, 29.22, 0.05),
    "clay": (0.385, 31.63, 0.03),
}


def green_ampt_cm(hours, k, suction, deficit, soaked=0.0):
    """Depth soaked in after some hours of ponding, from a depth already soaked in."""
    store = suction * deficit

    def lack(depth):
        return depth - soaked - store * np.log((store + depth) / (store + soaked)) - k * hours

    return brentq(lack, soaked, soaked + k * hours + 20 * store + 1)


def test_green_ampt_under_a_pond():
    # computed: ponded for an hour at effective saturation 0.30, cm
    computed = [15.322, 5.445, 3.403, 1.591, 3.166, 1.332, 1.018, 1.352, 0.843, 0.964, 0.735]
    found = [green_ampt_cm(1.0, k, suction, 0.7 * porosity) for porosity, suction, k in TEXTURES.values()]
    assert found == pytest.approx(computed, abs=0.002)
    assert all(depth >= k for depth, (_, _, k) in zip(found, TEXTURES.values(), strict=True))


def test_green_ampt_examples():
    # Chow, Maidment and Mays 1988, example 4.3.1 (from memory): silt loam, 3.17 cm and 1.81 cm/h after an hour
    depth = green_ampt_cm(1.0, 0.65, 16.7, 0.3402)
    assert depth == pytest.approx(3.17, abs=0.01)
    assert 0.65 * (1 + 16.7 * 0.3402 / depth) == pytest.approx(1.81, abs=0.01)
    # examples 4.4.1 and 4.4.2 (from memory): 5 cm/h of rain ponds after 0.17 h and 0.85 cm; 3.02 cm after an hour
    store = 16.7 * 0.3402
    ponding_h = 0.65 * store / (5.0 * (5.0 - 0.65))
    assert (ponding_h, 5.0 * ponding_h) == (pytest.approx(0.17, abs=0.01), pytest.approx(0.85, abs=0.01))
    later = green_ampt_cm(1.0 - ponding_h, 0.65, 16.7, 0.3402, soaked=5.0 * ponding_h)
    assert later == pytest.approx(3.02, abs=0.01)
    # a published class example: 0.5 cm/h on K 0.044 cm/h, suction 22.4 cm, deficit 0.25: ponding at 0.54 cm, 1.08 h
    ponding_h = 0.044 * 22.4 * 0.25 / (0.5 * (0.5 - 0.044))
    assert (ponding_h, 0.5 * ponding_h) == (pytest.approx(1.08, abs=0.01), pytest.approx(0.54, abs=0.01))
    end = green_ampt_cm(2.0 - ponding_h, 0.044, 22.4, 0.25, soaked=0.5 * ponding_h)
    assert end == pytest.approx(0.8968, abs=1e-3)


def test_horton_never_falls_below_its_final_rate():
    # a published exercise: f0 8, fc 0.5 cm/h, k 0.4 /h: 3.870 and 1.515 cm/h at 2 and 5 h, 7.387 cm between
    def rate(hours):
        return 0.5 + 7.5 * np.exp(-0.4 * hours)

    soaked = 0.5 * 3 + 7.5 / 0.4 * (np.exp(-0.8) - np.exp(-2.0))
    assert (rate(2.0), rate(5.0), soaked) == pytest.approx((3.870, 1.515, 7.387), abs=1e-3)
    assert soaked >= 0.5 * 3


def test_philip_adds_to_the_steady_rate():
    # Chow, Maidment and Mays 1988, example 4.2.1 (from memory): S 5 cm h^-1/2, K 0.4 cm/h: 3.74 cm in half an hour
    sorptivity = 100.0 / 40.0 / np.sqrt(0.25)
    assert sorptivity == 5.0
    assert sorptivity * np.sqrt(0.5) + 0.4 * 0.5 == pytest.approx(3.74, abs=0.005)


@pytest.mark.parametrize("texture", TEXTURES)
def test_a_pond_empties_no_later_than_drawdown_says(texture):
    porosity, suction, k = TEXTURES[texture]
    hours = pond_drawdown_h(150.0, 10.0 * k)
    assert green_ampt_cm(float(hours), k, suction, 0.05 * porosity) >= 15.0  # nearly saturated ground
