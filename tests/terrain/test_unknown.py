"""Cells whose upslope area may reach past the data."""

import numpy as np
from affine import Affine

from screening.grid import Grid
from screening.terrain import route, upslope_unknown

CELL = Affine(1, 0, 0, 0, -1, 0)


def unknown(heights, walls=None):
    grid = Grid.from_array(np.asarray(heights, dtype=np.float64), CELL)
    if walls is not None:
        grid = grid.with_state(np.where(walls, 1, grid.state).astype(np.uint8))
    return upslope_unknown(grid, route(grid).direction)


def test_below_a_ridge_within_the_data_all_is_known():
    """A roof of ground: a ridge between two rims that lie lower, so that nothing comes in from outside."""
    rows = 20.0 - np.abs(np.arange(21) - 10.0)
    found = unknown(np.add.outer(rows, -0.01 * np.abs(np.arange(11) - 5.0)))
    assert found[[0, -1]].all()
    assert found[:, [0, -1]].all()
    assert not found[1:-1, 2:-2].any()


def test_a_slope_that_begins_at_the_rim_is_not_known():
    found = unknown(np.add.outer(np.arange(20.0)[::-1], np.zeros(9)))
    assert found.all()


def test_what_runs_from_beside_nodata_is_not_known():
    heights = 20.0 - np.abs(np.arange(21) - 10.0)
    heights = np.add.outer(heights, -0.01 * np.abs(np.arange(11) - 5.0))
    heights[12, 5] = np.nan
    found = unknown(heights)
    assert found[11:14, 4:7].all()  # the hole and what lies beside it
    assert found[14:, 5].all()  # and the way down from there
    assert not found[1:11, 2:-2].any()  # not what lies above
    assert not found[1:-1, 2].any()


def test_a_wall_on_the_rim_lets_nothing_in():
    heights = np.add.outer(np.arange(9.0)[::-1], -0.01 * np.abs(np.arange(9) - 4.0))
    walls = np.zeros(heights.shape, dtype=bool)
    walls[0] = True
    found = unknown(heights, walls)
    assert not found[1:-1, 3:6].any()
    assert unknown(heights)[1:-1, 3:6].any()
