import numpy as np
import pytest

from screening.ranking.error_field import error_field, fall_share


def test_correlation_is_gaussian_in_the_range():
    """exp(-d2 / (2 range2)) at 0 to 3 ranges, in each of three directions."""
    field = error_field(10.0, 2000, 3)
    for angle in (0.0, 1.0, 2.2):
        for d in (1.0, 5.0, 10.0, 20.0, 30.0):
            step = d * np.array([np.cos(angle), np.sin(angle)])
            found = np.cos(field.waves @ step).mean()
            assert found == pytest.approx(np.exp(-(d**2) / 200.0), abs=0.06)


def test_differences_have_variance_1_and_share_the_field():
    field = error_field(10.0, 20000, 3)
    start = np.array([[500000.0, 4000000.0]] * 3)
    end = start + np.array([[8.0, 0.0], [8.1, 0.0], [0.0, 0.0]])
    drawn = field.differences(start, end)
    assert drawn[:2].std(axis=1) == pytest.approx(np.ones(2), abs=0.02)
    assert np.corrcoef(drawn[:2])[0, 1] > 0.99
    assert (drawn[2] == 0).all()


def test_slope_goes_with_the_difference_along_it():
    """Over a centimetre the scaled difference is the scaled gradient."""
    field = error_field(10.0, 50, 3)
    place, east = np.array([[100.0, 200.0]]), np.array([[1.0, 0.0]])
    near = field.differences(place - 0.005 * east, place + 0.005 * east)
    assert field.gradients(place, east) == pytest.approx(near, abs=1e-4)


def test_share_of_a_fall():
    assert fall_share(np.array([0.0, 10.0, 1e6]), 10.0) == pytest.approx(
        [0.0, np.sqrt(2 * (1 - np.exp(-0.5))), np.sqrt(2)]
    )
