"""A real elevation sample from a registry package (matplotlib's fault scarp) through the terrain library."""

import matplotlib.cbook
import numpy as np
import pyflwdir
import pytest
from affine import Affine

from screening.grid import Grid
from screening.terrain import route, slope_pct


@pytest.fixture(scope="module")
def sample():
    with matplotlib.cbook.get_sample_data("jacksboro_fault_dem.npz") as dem:
        heights = np.array(dem["elevation"], dtype=np.float32)
        dy_m = 111200 * float(dem["dy"])
        dx_m = 111200 * float(dem["dx"]) * np.cos(np.radians(float(dem["ymin"])))
    return Grid.from_array(heights, Affine(dx_m, 0, 0, 0, -dy_m, 0))


@pytest.fixture(scope="module")
def routing(sample):
    return route(sample)


def test_the_sample_is_what_it_was(sample):
    assert sample.shape == (344, 403)
    assert sample.cell_x_m < sample.cell_y_m
    assert sample.valid.all()


def test_filled_equals_pyflwdir_cell_for_cell(sample, routing):
    filled, _ = pyflwdir.dem.fill_depressions(np.array(sample.values), nodata=-9999.0, outlets="edge")
    np.testing.assert_array_equal(routing.filled, filled)


def test_accumulation_equals_pyflwdir_for_the_same_directions(routing):
    flow = pyflwdir.from_array(np.array(routing.direction), ftype="d8", check_ftype=False)
    np.testing.assert_array_equal(routing.accumulation, flow.upstream_area("cell"))


def test_every_cell_drains_and_none_is_lost(sample, routing):
    leaves = routing.direction == 0
    assert routing.accumulation[leaves].sum() == sample.values.size
    conditioned = routing.conditioned
    steps = {1: (0, 1), 2: (1, 1), 4: (1, 0), 8: (1, -1), 16: (0, -1), 32: (-1, -1), 64: (-1, 0), 128: (-1, 1)}
    for code, (row, column) in steps.items():
        at = np.argwhere(routing.direction == code)
        below = conditioned[at[:, 0] + row, at[:, 1] + column]
        assert (below <= conditioned[at[:, 0], at[:, 1]]).all()


def test_slope_equals_horn_by_numpy(sample):
    z = sample.values.astype(np.float64)
    west, east = z[:-2, :-2] + 2 * z[1:-1, :-2] + z[2:, :-2], z[:-2, 2:] + 2 * z[1:-1, 2:] + z[2:, 2:]
    north, south = z[:-2, :-2] + 2 * z[:-2, 1:-1] + z[:-2, 2:], z[2:, :-2] + 2 * z[2:, 1:-1] + z[2:, 2:]
    expected = 100 * np.hypot((east - west) / (8 * sample.cell_x_m), (north - south) / (8 * sample.cell_y_m))
    np.testing.assert_allclose(slope_pct(sample)[1:-1, 1:-1], expected, rtol=1e-5)
