import pytest

from screening import units


def test_factors_against_their_definitions():
    """International yard and pound agreement, 1959; US survey foot 1200/3937 m; gallon 231 cubic inches."""
    assert units.FOOT_M == 0.3048
    assert pytest.approx(0.304800609601219, abs=1e-15) == units.US_SURVEY_FOOT_M
    assert pytest.approx(0.09290304, abs=1e-12) == units.SQUARE_FOOT_M2
    assert pytest.approx(4046.8564224, abs=1e-9) == units.ACRE_M2
    assert pytest.approx(0.003785411784, abs=1e-15) == units.GALLON_M3


def test_survey_foot_and_foot_are_1_22_m_apart_at_two_million():
    """Computed: 2,000,000 x (0.30480060960122 - 0.3048) m, factors as EPSG:2263 and EPSG:2222 state them."""
    assert pytest.approx(1.2192, abs=1e-4) == 2_000_000 * (units.US_SURVEY_FOOT_M - units.FOOT_M)


def test_conductivity_units():
    """0.1417 in/h is printed in a soil survey report (NRCS); 1 in/h = 7.0555556 um/s is computed."""
    assert units.UM_PER_S_MM_PER_H == 3.6
    assert pytest.approx(0.1417323, abs=1e-7) == units.UM_PER_S_MM_PER_H / units.IN_PER_H_MM_PER_H
    assert pytest.approx(7.0555556, abs=1e-7) == units.IN_PER_H_MM_PER_H / units.UM_PER_S_MM_PER_H


@pytest.mark.parametrize(
    ("name", "metres"),
    [
        ("m", 1),
        ("Metre", 1),
        ("ft", 0.3048),
        (" FEET ", 0.3048),
        ("US survey foot", 1200 / 3937),
        ("us-ft", 1200 / 3937),
    ],
)
def test_units_as_files_spell_them(name, metres):
    assert units.length_unit_m(name) == metres


def test_unknown_unit_is_not_guessed():
    assert units.length_unit_m("furlong") is None


@pytest.mark.parametrize(("score", "shown"), [(0, 0), (49, 0), (50, 1), (5449, 54), (5450, 55), (10000, 100)])
def test_scores_are_shown_halves_up(score, shown):
    assert units.shown_score(score) == shown
