import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from screening.ranking.error_field import error_field, fall_share


def test_correlation_is_gaussian_in_the_range():
    """exp(-d2 / (2 range2)) at 0 to 3 ranges, in each of three directions."""
    field = error_field(10.0, 2000, 3)
    for angle in (0.0, 1.0, 2.2):
        for d in (1.0, 5.0, 10.0, 20.0, 30.0):
            step = d * np.array([np.cos(angle), np.sin(angle)])
            found = np.cos(field.waves @ step).mean()
            assert found == pytest.approx(np.exp(-(d**2) / 200.0), abs=0.06)


def test_it_is_as_white_noise_smoothed_by_a_gaussian():
    """White noise smoothed over k cells: sd 1 / (2 k sqrt(pi)), correlation exp(-d2 / (4 k2)); analytic, for k = 5.

    The field of range k sqrt(2) is the same one, scaled to a standard deviation of 1.
    """
    noise = np.random.default_rng(5).standard_normal((1200, 1200))
    smooth = gaussian_filter(noise, 5.0, mode="wrap")
    assert smooth.std() == pytest.approx(0.0564190, rel=0.03)
    field = error_field(5.0 * np.sqrt(2.0), 20000, 3)
    angle = np.arange(24) * np.pi / 12
    for d, expected in ((5, 0.7788), (10, 0.3679)):
        both = [(smooth * np.roll(smooth, d, axis)).mean() / smooth.var() for axis in (0, 1)]
        assert np.mean(both) == pytest.approx(expected, abs=0.03)
        there = field.at(np.column_stack([d * np.cos(angle), d * np.sin(angle)]))
        here = field.at(np.zeros((1, 2)))
        assert here.std() == pytest.approx(1.0, abs=0.02)
        assert (here * there).mean() == pytest.approx(expected, abs=0.03)


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
