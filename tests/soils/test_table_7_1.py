"""NEH part 630, chapter 7, table 7-1 (January 2009): the cuts and depth ranges as printed there."""

import numpy as np
import pandas as pd
import pytest

from screening.soils.table_7_1 import hydrologic_group, least_ksat
from screening.units import IN_PER_H_MM_PER_H, UM_PER_S_MM_PER_H

NAN = np.nan
SHALLOW = [(40.1, "A"), (40.0, "B"), (10.1, "B"), (10.0, "C"), (1.1, "C"), (1.0, "D"), (0.0, "D")]
DEEP = [(10.1, "A"), (10.0, "B"), (4.1, "B"), (4.0, "C"), (0.41, "C"), (0.4, "D"), (0.0, "D")]


def dual(letter):
    return letter if letter == "D" else f"{letter}/D"


@pytest.mark.parametrize(("impermeable", "table"), [(49.9, 10.0), (30.0, 200.0), (0.0, NAN)])
def test_a_shallow_impermeable_layer_is_always_d(impermeable, table):
    assert hydrologic_group(impermeable, table, 500.0, 500.0, 500.0) == "D"


@pytest.mark.parametrize(("ksat", "letter"), SHALLOW)
def test_rows_judged_by_the_upper_50_or_60_cm(ksat, letter):
    # impermeable 50 to 100 cm, water table from 60 cm: the upper 50 cm decide
    assert hydrologic_group([50.0, 75.0, 100.0], [60.0, 200.0, NAN], ksat, NAN, NAN).tolist() == [letter] * 3
    # impermeable below 100 cm, water table 60 to 100 cm: the same
    assert hydrologic_group([100.1, NAN], [60.0, 100.0], ksat, NAN, NAN).tolist() == [letter] * 2
    # impermeable 50 to 100 cm, water table above 60 cm: the upper 60 cm decide, dual
    assert hydrologic_group([50.0, 100.0], [59.9, 0.0], NAN, ksat, NAN).tolist() == [dual(letter)] * 2


@pytest.mark.parametrize(("ksat", "letter"), DEEP)
def test_rows_judged_by_the_upper_100_cm(ksat, letter):
    assert hydrologic_group([100.1, NAN], [100.1, NAN], NAN, NAN, ksat).tolist() == [letter] * 2
    assert hydrologic_group([100.1, NAN], [59.9, 0.0], NAN, NAN, ksat).tolist() == [dual(letter)] * 2


def test_single_cases():
    # computed from the table
    assert hydrologic_group(30.0, 200.0, 500.0, 500.0, 500.0) == "D"
    found = hydrologic_group(75.0, 200.0, [40.0, 40.1, 10.0, 1.0], 500.0, 500.0)
    assert found.tolist() == ["B", "A", "C", "D"]


def test_an_inch_an_hour_is_b_here_though_a_by_the_rates_of_1986():
    # TR-55 (1986), appendix A, calls transmission above 0.30 in/h group A: the two scales must not be mixed
    ksat_um_s = 1.0 * IN_PER_H_MM_PER_H / UM_PER_S_MM_PER_H
    assert ksat_um_s == pytest.approx(7.0555556)
    assert hydrologic_group(NAN, NAN, ksat_um_s, ksat_um_s, ksat_um_s) == "B"


def test_units_of_conductivity():
    # 1 um/s = 3.6 mm/h = 0.1417 in/h (NRCS prints 0.1417); the cuts in inches an hour are computed
    in_h = np.array([40.0, 10.0, 4.0, 1.0, 0.4]) * UM_PER_S_MM_PER_H / IN_PER_H_MM_PER_H
    assert in_h == pytest.approx([5.669, 1.417, 0.567, 0.1417, 0.0567], abs=5e-4)


def test_an_unknown_conductivity_that_decides_is_unknown():
    assert hydrologic_group([NAN, 75.0, 30.0], [NAN, 30.0, NAN], 50.0, NAN, NAN).tolist() == ["unknown", "unknown", "D"]


def horizons(*layers):
    return pd.DataFrame(layers, columns=["cokey", "hzdept_r", "hzdepb_r", "ksat_r"])


def test_the_least_transmissive_layer_not_a_mean():
    # arithmetic mean 13.75 and harmonic 10.84 are not what the table asks for
    profile = horizons(("a", 0, 25, 28.0), ("a", 25, 100, 9.0))
    assert least_ksat(profile, 100.0)["a"] == 9.0
    assert least_ksat(profile, 25.0)["a"] == 28.0  # a layer that begins at the end of the depth does not count
    assert least_ksat(profile, 26.0)["a"] == 9.0


def test_minima_of_a_profile_over_rock():
    # ksat_r of a public soil file: Oi, A, AE, Bw, C, Cr
    profile = horizons(
        ("a", 0, 3, 91.0),
        ("a", 3, 13, 28.23),
        ("a", 13, 30, 28.23),
        ("a", 30, 46, 28.23),
        ("a", 46, 66, 28.23),
        ("a", 66, 91, 0.71),
    )
    assert least_ksat(profile, 50.0)["a"] == 28.23
    assert least_ksat(profile, 91.0)["a"] == 0.71
    assert np.isnan(least_ksat(profile, 100.0)["a"])  # 91 to 100 cm is not known


def test_gaps_and_missing_values_leave_the_minimum_unknown():
    profiles = horizons(
        ("gap", 0, 20, 5.0),
        ("gap", 30, 60, 5.0),
        ("no value", 0, 20, NAN),
        ("no value", 20, 60, 5.0),
        ("full", 0, 60, 5.0),
    )
    found = least_ksat(profiles, 50.0)
    assert found.isna().tolist() == [True, True, False]
    ranges = least_ksat(profiles, pd.Series({"gap": 20.0, "no value": 20.0, "full": 60.0}))
    assert ranges["gap"] == 5.0
    assert np.isnan(ranges["no value"])
    deep = least_ksat(profiles, 60.0, from_cm=25.0)
    assert deep["no value"] == 5.0
