"""Culverts cut through what was built over them."""

import numpy as np
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.grid import NODATA, WALL, Grid
from screening.terrain import cut_culverts, route
from screening.terrain.culverts import culvert_cuts, line_cells

UNIT = Affine(1, 0, 0, 0, -1, 0)


def bank() -> Grid:
    """A channel falling east, with an embankment across it."""
    z = np.full((7, 15), 10.0)
    z[3] = np.linspace(5, 3.6, 15)
    z[3, 0] = 10
    z[:, 6:9] = 12
    return Grid.from_array(z, UNIT)


def test_water_passes_where_the_culvert_is() -> None:
    grid = bank()
    blocked = route(grid)
    assert blocked.hollows.depth_m().max() > 5
    cut, depth = cut_culverts(grid, [np.array([[5.5, -3.5], [9.5, -3.5]])])
    # from the middle of the line's way through the first cell to that through the last
    np.testing.assert_allclose(cut.values[3, 5:10], 4.5 - 0.4 * np.array([0, 0.75, 1.75, 2.75, 3.5]) / 3.5)
    np.testing.assert_allclose(depth[3, 6:9], 12 - cut.values[3, 6:9])
    assert depth.sum() == depth[3, 6:9].sum()
    passed = route(cut)
    assert len(passed.hollows) == 0
    assert (passed.direction[3, 1:14] == 1).all()
    assert grid.values[3, 7] == 12


def test_grade_never_rises_above_the_ground() -> None:
    along = np.array([0, 0.25, 0.5, 0.75, 1])
    all_cut = np.ones(5, bool)
    found = culvert_cuts(np.array([4.0, 9, 2, 9, 3]), all_cut, along)
    np.testing.assert_allclose(found, [4, 3.75, 2, 3.25, 3])
    # nodata and walls stay; the ends are the first and last cell that may be cut
    found = culvert_cuts(np.array([7.0, 4, 9, 3, 7]), np.array([False, True, True, True, False]), along)
    np.testing.assert_allclose(found, [7, 4, 3.5, 3, 7])
    assert culvert_cuts(np.array([5.0, 9]), np.array([True, False]), np.array([0.0, 1])).tolist() == [5, 9]


def test_walls_and_nodata_are_not_cut() -> None:
    grid = bank()
    z, state = np.array(grid.values), np.array(grid.state)
    state[3, 7] = WALL
    state[3, 8] = NODATA
    z[3, 8] = np.nan
    cut, depth = cut_culverts(Grid(z, UNIT, state), [np.array([[5.5, -3.5], [9.5, -3.5]])])
    assert cut.values[3, 7] == 12
    assert np.isnan(cut.values[3, 8])
    assert depth[3, 6] > 0
    assert depth[3, 8] == 0


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 20), st.floats(-12, 0)), min_size=2, max_size=4))
def test_cells_of_a_line_touch_one_another(vertices: list[tuple[float, float]]) -> None:
    rows, columns, along = line_cells(np.array(vertices), UNIT, (40, 40))
    steps = np.maximum(np.abs(np.diff(rows)), np.abs(np.diff(columns)))
    assert (steps == 1).all()
    assert (np.diff(along) >= 0).all()
    assert rows[0] == np.floor(-vertices[0][1])
    assert columns[0] == np.floor(vertices[0][0])


def test_line_off_the_raster_cuts_nothing() -> None:
    grid = bank()
    cut, depth = cut_culverts(grid, [np.array([[50.0, -3], [60, -3]])])
    np.testing.assert_array_equal(cut.values, grid.values)
    assert depth.sum() == 0
