import numpy as np
import pytest
from affine import Affine

from screening.grid import NODATA, VALID, WALL, Grid

TRANSFORM = Affine(2.0, 0, 100.0, 0, -3.0, 200.0)


def test_every_kind_of_nodata_becomes_one_state():
    values = np.array([[1.0, -9999.0, np.nan], [np.inf, -np.inf, 0.0]])
    grid = Grid.from_array(values, TRANSFORM, nodata=-9999)
    assert grid.state.tolist() == [[VALID, NODATA, NODATA], [NODATA, NODATA, VALID]]
    assert np.isnan(grid.values[grid.state == NODATA]).all()
    assert grid.values.dtype == np.float64


def test_nodata_far_outside_float32_is_matched_in_the_raster_own_type():
    values = np.array([[1.0, -3.4028234663852886e38]], dtype=np.float32)
    grid = Grid.from_array(values, TRANSFORM, nodata=-3.4028234663852886e38)
    assert grid.state.tolist() == [[VALID, NODATA]]


@pytest.mark.parametrize(("dtype", "read"), [("int16", "float32"), ("uint8", "float32"), ("int32", "float64")])
def test_integers_are_read_into_floats_that_hold_them(dtype, read):
    grid = Grid.from_array(np.array([[1, 2]], dtype=dtype), TRANSFORM, nodata=2)
    assert grid.values.dtype == read
    assert grid.state.tolist() == [[VALID, NODATA]]


def test_sizes_bounds_and_places():
    grid = Grid.from_array(np.zeros((4, 5), np.float32), TRANSFORM, height_factor=0.3048)
    assert (grid.cell_x_m, grid.cell_y_m, grid.cell_area_m2) == (2.0, 3.0, 6.0)
    assert grid.bounds_m == (100.0, 188.0, 110.0, 200.0)
    rows, columns = grid.row_column(np.array([101.0]), np.array([198.5]))
    assert (rows[0], columns[0]) == (0.5, 0.5)


def test_heights_in_metres():
    grid = Grid.from_array(np.array([[10.0]]), TRANSFORM, height_factor=0.3048)
    assert grid.heights_m()[0, 0] == 10 * 0.3048
    metres = Grid.from_array(np.array([[10.0]]), TRANSFORM)
    assert metres.heights_m() is metres.values


def test_a_grid_cannot_be_changed_and_checks_itself():
    grid = Grid.from_array(np.zeros((2, 2)), TRANSFORM)
    with pytest.raises(ValueError, match="read-only"):
        grid.values[0, 0] = 1
    walls = grid.with_state(np.full((2, 2), WALL, np.uint8))
    assert walls.state[0, 0] == WALL
    assert grid.state[0, 0] == VALID
    with pytest.raises(ValueError, match="north-up"):
        Grid.from_array(np.zeros((2, 2)), Affine(1, 0, 0, 0, 1, 0))
    with pytest.raises(ValueError, match="one shape"):
        Grid(np.zeros((2, 2)), TRANSFORM, np.zeros((2, 3), np.uint8))
    with pytest.raises(ValueError, match="float32 or float64"):
        Grid(np.zeros((2, 2), int), TRANSFORM, np.zeros((2, 2), np.uint8))
