import numpy as np
import pytest

from screening.siting.kernels.plane_kernels import plane_heights


def heights_of(kernel, ground=None, wanted=None):
    rows, columns = np.mgrid[0:9, 0:9]
    heights = 100.0 + 0.05 * columns - 0.02 * rows
    ground = np.ones(heights.shape, dtype=bool) if ground is None else ground
    wanted = np.ones(heights.shape, dtype=bool) if wanted is None else wanted
    east, north = np.full(heights.shape, 0.05), np.full(heights.shape, 0.02)
    out = np.zeros(heights.shape)
    kernel(heights, ground, east, north, wanted, 2, 2, 1.0, 1.0, np.empty((4, 9)), out)
    return heights, out


@pytest.mark.parametrize("kernel", [plane_heights, plane_heights.py_func])
def test_a_plane_is_itself_with_roofs_left_out(kernel):
    ground = np.ones((9, 9), dtype=bool)
    ground[3:6, 2:5] = False
    heights, out = heights_of(kernel, ground)
    assert out == pytest.approx(heights)


@pytest.mark.parametrize("kernel", [plane_heights, plane_heights.py_func])
def test_unwanted_cells_and_empty_windows_have_none(kernel):
    wanted = np.zeros((9, 9), dtype=bool)
    wanted[4, 4] = True
    _, out = heights_of(kernel, wanted=wanted)
    assert np.isfinite(out).sum() == 1
    _, out = heights_of(kernel, ground=np.zeros((9, 9), dtype=bool))
    assert np.isnan(out).all()
