import numpy as np
import pytest

from screening.units import INCH_MM
from screening.water.runoff import runoff_mm
from tests.water.curve_numbers import initial_abstraction_mm, volumetric_coefficient
from tests.water.peak import (
    TYPE_II_SHARE,
    annual_load_lb,
    annual_runoff_in,
    peak_flow_cfs,
    type_ii_share,
    unit_peak_csm_in,
)

# cumulative shares by half hours, as printed (three decimals)
PRINTED = """
0 .005 .011 .017 .023 .029 .035 .041 .048 .056 .063 .072 .080 .090 .100 .111 .122 .135 .148 .163 .181 .204 .235 .283
.663 .735 .772 .799 .820 .838 .854 .868 .880 .892 .903 .913 .922 .930 .938 .946 .953 .959 .965 .971 .977 .983 .989 .995
1
"""


def test_the_type_ii_day():
    # NRCS type II, 24 h, cumulative at 0.5 h (TR-55 era): 49 values, half of the noon hour's rain in 30 minutes
    share = np.array(TYPE_II_SHARE)
    assert share.tolist() == [float(number) for number in PRINTED.split()]
    assert len(share) == 49
    assert type_ii_share([12.0, 24.0, 11.75]) == pytest.approx([0.663, 1.0, (0.283 + 0.663) / 2])
    for hours, most in ((0.5, 0.380), (1, 0.452), (2, 0.537), (3, 0.595), (6, 0.706), (12, 0.842)):
        steps = int(2 * hours)
        assert (share[steps:] - share[:-steps]).max() == pytest.approx(most, abs=5e-4)


def test_runoff_within_the_type_ii_day():
    # 3 in on CN 75, inches by noon and by midnight: computed
    rain = 3.0 * type_ii_share([12.0, 24.0]) * INCH_MM
    assert runoff_mm(rain, 75) / INCH_MM == pytest.approx([0.37558, 0.96078], abs=1e-5)


def test_the_graphical_peak():
    # TR-55 example 4-1: Tc 1.53 h, CN 75, 6.0 in, 0.39 mi2: Ia/P 0.111, 270 csm/in as read, 345 cfs (from memory)
    share = initial_abstraction_mm(75) / INCH_MM / 6.0
    assert share == pytest.approx(0.111, abs=5e-4)
    runoff = runoff_mm(6.0 * INCH_MM, 75) / INCH_MM
    unit = unit_peak_csm_in(1.53, share)
    assert unit == pytest.approx(270, rel=0.02)
    assert peak_flow_cfs(unit, 0.39, runoff) == pytest.approx(345, rel=0.02)
    assert peak_flow_cfs(unit, 0.39, runoff, 0.5) == pytest.approx(345 / 2, rel=0.02)


def test_a_year_s_load():
    # Schueler 1987: P 40 in, I 25%, C 0.26 mg/l, 1 acre: 9.90 in and 0.5817 lb (computed; the share 0.9 from memory)
    runoff = annual_runoff_in(40.0, volumetric_coefficient(25))
    assert runoff == pytest.approx(9.90)
    assert annual_load_lb(runoff, 0.26, 1.0) == pytest.approx(0.5817, abs=1e-3)
    # the exact factor: pounds in a milligram a litre over an acre inch
    exact = 0.0254 * 4046.8564224 * 1000.0 / 453592.37
    assert exact == pytest.approx(0.226613, abs=1e-6)
