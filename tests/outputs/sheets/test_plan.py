from __future__ import annotations

import numpy as np
import pytest
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.outputs.sheets.plan import bar_length_m, contours, fit_plan
from screening.sources import ArraySource

FRAME = (10.0, 20.0, 100.0, 100.0)


def test_the_largest_usual_scale_that_fits() -> None:
    assert fit_plan((0, 0, 20, 40), FRAME, "metric").scale == 500
    assert fit_plan((0, 0, 20, 30), FRAME, "metric").scale == 400
    assert fit_plan((0, 0, 20, 40), FRAME, "us").scale == 480
    assert fit_plan((0, 0, 5000, 40), FRAME, "metric").scale == 51_000


def test_ten_metres_are_ten_metres_on_the_paper() -> None:
    plan = fit_plan((100, 200, 120, 240), FRAME, "metric")
    (x0, y0), (x1, y1) = plan.place([(100, 200), (110, 210)])
    assert x1 - x0 == pytest.approx(10_000 / plan.scale)
    assert y0 - y1 == pytest.approx(10_000 / plan.scale)
    assert plan.place([(110, 220)]) == [(60.0, 70.0)]


@settings(max_examples=50, deadline=None)
@given(st.floats(1, 500), st.floats(1, 500), st.sampled_from(["metric", "us"]))
def test_every_lot_lies_inside_its_frame(width: float, height: float, units) -> None:
    plan = fit_plan((0, 0, width, height), FRAME, units)
    for x, y in plan.place([(0, 0), (width, height)]):
        assert 10 <= x <= 110
        assert 20 <= y <= 120


def test_the_scale_bar_is_round_and_fits() -> None:
    assert bar_length_m(400, "metric") == (10.0, "10 m")
    length_m, name = bar_length_m(480, "us")
    assert (length_m, name) == (pytest.approx(50 * 0.3048), "50 ft")


def test_contours_of_a_plane_are_straight_and_evenly_spaced() -> None:
    rows = np.mgrid[0:60, 0:40][0].astype(float)
    heights = ArraySource(100 - 0.1 * rows, Affine(1, 0, 0, 0, -1, 60))
    lines, interval_m = contours(heights, (5, 10, 35, 50), "metric")
    assert interval_m == 0.5
    norths = sorted(float(np.mean(line[:, 1])) for line in lines)
    assert np.allclose(np.diff(norths), 5)
    assert all(np.ptp(line[:, 1]) == pytest.approx(0, abs=1e-6) for line in lines)
    assert contours(heights, (5, 10, 35, 50), "us")[1] == pytest.approx(0.3048 * 2)


def test_unknown_and_level_ground_has_none() -> None:
    level = ArraySource(np.full((20, 20), 5.0), Affine(1, 0, 0, 0, -1, 20))
    unknown = ArraySource(np.full((20, 20), np.nan), Affine(1, 0, 0, 0, -1, 20))
    assert contours(level, (2, 2, 10, 10), "metric") == ([], 0.0)
    assert contours(unknown, (2, 2, 10, 10), "metric") == ([], 0.0)
    assert contours(level, (200, 200, 210, 210), "metric") == ([], 0.0)
