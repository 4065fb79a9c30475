"""Slope and aspect against published windows, planes, brute force and error theory."""

from pathlib import Path

import numpy as np
import pytest
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.grid import NODATA, WALL, Grid
from screening.terrain import aspect_deg, downslope_deg, gradient_at_scale, slope_at_scale_pct, slope_pct
from screening.terrain.slope import half_window_cells
from tests.terrain.strategies import grids


def grid_of(values: list[list[float]] | np.ndarray, cell: float = 1.0, height_factor: float = 1.0) -> Grid:
    return Grid.from_array(np.array(values, float), Affine(cell, 0, 0, 0, -cell, 0), height_factor=height_factor)


def plane(east: float, north: float, shape: tuple[int, int], cell: tuple[float, float] = (1.0, 1.0)) -> Grid:
    y, x = np.mgrid[: shape[0], : shape[1]]
    return Grid.from_array(east * x * cell[0] - north * y * cell[1], Affine(cell[0], 0, 0, 0, -cell[1], 0))


def test_published_horn_slope_window() -> None:
    # Esri, "How Slope works": 75.25762 degrees, 380.03 percent.
    slope = slope_pct(grid_of([[50, 45, 50], [30, 30, 30], [8, 10, 10]], cell=5.0))
    assert slope[1, 1] == pytest.approx(380.03289, rel=1e-7)
    assert np.degrees(np.arctan(slope[1, 1] / 100)) == pytest.approx(75.2576577, abs=1e-6)
    assert np.isnan(slope).sum() == 8


def test_published_horn_aspect_window() -> None:
    # Esri, "How Aspect works": 92.64 degrees clockwise from north.
    grid = grid_of([[101, 92, 85], [101, 92, 85], [101, 91, 84]])
    assert aspect_deg(grid)[1, 1] == pytest.approx(92.64, abs=5e-3)
    assert slope_pct(grid)[1, 1] == pytest.approx(813.36492, rel=1e-7)


@pytest.mark.parametrize("dtype", [np.float32, np.float64])
def test_plane_has_its_own_slope_everywhere(dtype: type) -> None:
    grid = plane(0.375, -0.5, (20, 30), (2.0, 0.5))
    grid = Grid(grid.values.astype(dtype), grid.transform, grid.state, 0.25)
    inner = slope_pct(grid)[1:-1, 1:-1]
    assert inner.dtype == dtype
    np.testing.assert_allclose(inner, 0.625 * 25, rtol=1e-6)
    np.testing.assert_allclose(slope_at_scale_pct(grid, 5.0), 0.625 * 25, rtol=1e-9)
    east, north = gradient_at_scale(grid, 3.0)
    np.testing.assert_allclose(east, 0.375 * 0.25, rtol=1e-9)
    np.testing.assert_allclose(north, -0.5 * 0.25, rtol=1e-9)


def test_flat_ground_has_slope_zero_and_no_aspect() -> None:
    grid = grid_of(np.full((9, 9), 123.456))
    assert (slope_pct(grid)[1:-1, 1:-1] == 0).all()
    assert np.isnan(aspect_deg(grid)).all()
    assert (slope_at_scale_pct(grid) == 0).all()


@pytest.mark.parametrize(
    ("east", "north", "degrees"), [(0, -1, 0), (-1, -1, 45), (-1, 0, 90), (0, 1, 180), (1, 0, 270), (1, -1, 315)]
)
def test_aspect_points_down(east: float, north: float, degrees: float) -> None:
    assert aspect_deg(plane(east, north, (3, 3)))[1, 1] == pytest.approx(degrees)
    assert downslope_deg(np.array([float(east)]), np.array([float(north)]))[0] == pytest.approx(degrees)


def test_aspect_stays_below_360() -> None:
    almost_north = downslope_deg(np.array([1e-20]), np.array([-1.0]))
    assert 0 <= almost_north[0] < 360


def test_horn_needs_all_nine_heights() -> None:
    z = np.arange(49.0).reshape(7, 7)
    z[3, 3] = np.nan
    slope = slope_pct(grid_of(z))
    assert np.isnan(slope[2:5, 2:5]).all()
    assert np.isfinite(slope[1, 1:6]).all()


def test_a_wall_counts_with_its_own_height() -> None:
    z = np.arange(25.0).reshape(5, 5)
    state = np.zeros((5, 5), np.uint8)
    state[2, 2] = WALL
    grid = Grid(z, Affine(1, 0, 0, 0, -1, 0), state)
    np.testing.assert_array_equal(slope_pct(grid), slope_pct(grid.with_state(state * 0)))
    np.testing.assert_array_equal(slope_at_scale_pct(grid), slope_at_scale_pct(grid.with_state(state * 0)))


def least_squares(grid: Grid, r: int, c: int, half_r: int, half_c: int) -> tuple[float, float]:
    """Gradient of one window by a general solver."""
    rows, columns = grid.shape
    cells = [
        (j - c, r - i, float(grid.values[i, j]) - float(grid.values[r, c]))
        for i in range(max(r - half_r, 0), min(r + half_r + 1, rows))
        for j in range(max(c - half_c, 0), min(c + half_c + 1, columns))
        if grid.state[i, j] != NODATA
    ]
    x, y, z = (np.array(part, float) for part in zip(*cells, strict=True))
    design = np.column_stack([x * grid.cell_x_m, y * grid.cell_y_m, np.ones_like(x)])
    if np.linalg.matrix_rank(design) < 3:
        return np.nan, np.nan
    found = np.linalg.lstsq(design, z * grid.height_factor, rcond=None)[0]
    return float(found[0]), float(found[1])


@settings(max_examples=15, deadline=None)
@given(grids(14), st.sampled_from([3.0, 5.0, 7.0]))
def test_plane_fit_equals_a_general_solver(grid: Grid, scale_m: float) -> None:
    east, north = gradient_at_scale(grid, scale_m)
    half_r, half_c = half_window_cells(scale_m, grid.cell_y_m), half_window_cells(scale_m, grid.cell_x_m)
    for r in range(grid.shape[0]):
        for c in range(grid.shape[1]):
            expected = (np.nan, np.nan)
            if grid.state[r, c] != NODATA:
                expected = least_squares(grid, r, c, half_r, half_c)
            np.testing.assert_allclose((east[r, c], north[r, c]), expected, rtol=1e-6, atol=1e-9)


def test_slopes_do_not_depend_on_where_a_window_is_cut_or_on_threads() -> None:
    rng = np.random.default_rng(5)
    z = rng.normal(50, 3, (400, 90)).astype(np.float32)
    z[rng.random(z.shape) < 0.02] = np.nan
    grid = grid_of(z)
    whole = gradient_at_scale(grid, 5.0, threads=2)
    again = gradient_at_scale(grid, 5.0, threads=1)
    part = Grid(grid.values[150:260, 20:70], grid.transform, grid.state[150:260, 20:70])
    cut = gradient_at_scale(part, 5.0)
    for a, b, c in zip(whole, again, cut, strict=True):
        np.testing.assert_array_equal(a, b)
        np.testing.assert_array_equal(a[152:258, 22:68], c[2:-2, 2:-2])
    np.testing.assert_array_equal(slope_pct(grid, threads=1), slope_pct(grid, threads=2))
    np.testing.assert_array_equal(slope_pct(grid)[151:259, 21:69], slope_pct(part)[1:-1, 1:-1])


def test_window_is_an_odd_number_of_cells_near_the_scale() -> None:
    sizes = [2 * half_window_cells(scale, cell) + 1 for scale, cell in ((5, 1), (3, 1), (4, 1), (5, 0.5), (5, 10))]
    assert sizes == [5, 3, 5, 11, 3]
    with pytest.raises(ValueError, match="positive"):
        half_window_cells(0.0, 1.0)


def test_white_noise_gives_the_slope_that_theory_says() -> None:
    # sd of each gradient of Horn's window on white noise of sd s: sqrt(12)/8 s/L; the mean apparent slope of flat
    # ground is then sqrt(pi/2) of that (Rayleigh).
    rng = np.random.default_rng(8)
    grid = grid_of(rng.normal(0, 0.1, (1000, 1000)))
    slope = slope_pct(grid)[1:-1, 1:-1]
    assert slope.mean() == pytest.approx(5.427, rel=5e-3)
    assert np.median(slope) == pytest.approx(5.098, rel=5e-3)
    east = -slope * np.sin(np.radians(aspect_deg(grid)[1:-1, 1:-1]))
    assert east.std() == pytest.approx(4.33, rel=5e-3)
    # over a window of n x n cells: s / sqrt(sum of x squared) over the n x n cells
    east, _ = gradient_at_scale(grid, 5.0)
    assert east.std() == pytest.approx(0.1 / np.sqrt(50), rel=1e-2)


@pytest.mark.parametrize(
    ("range_m", "cell", "sd"), [(3.0, 1.0, 4.8181), (10.0, 1.0, 3.8669), (10.0, 3.0, 1.5992), (30.0, 1.0, 2.5369)]
)
def test_correlated_error_gives_the_slope_that_theory_says(range_m: float, cell: float, sd: float) -> None:
    # Horn's window on errors of 0.10 m whose correlation is exp(-3 d / range): sd of each gradient in percent,
    # computed. Oksanen and Sarjakoski (2005): the error of slope is largest where the range is about the window, so
    # that at 3 m it is more than white noise gives (4.330).
    windows = 60_000
    y, x = np.mgrid[:3, :3].reshape(2, 9) * cell
    away = np.hypot(x[:, None] - x, y[:, None] - y)
    root = np.linalg.cholesky(np.exp(-3 * away / range_m))
    drawn = 0.1 * root @ np.random.default_rng(67).normal(size=(9, windows))
    side_by_side = drawn.reshape(3, 3, windows).transpose(0, 2, 1).reshape(3, 3 * windows)
    grid = grid_of(side_by_side, cell)
    east = (-slope_pct(grid) * np.sin(np.radians(aspect_deg(grid))))[1, 1::3]
    north = (-slope_pct(grid) * np.cos(np.radians(aspect_deg(grid))))[1, 1::3]
    assert east.size == windows
    assert (east.std(), north.std()) == (pytest.approx(sd, rel=0.01), pytest.approx(sd, rel=0.01))


def test_one_row_has_no_slope() -> None:
    grid = grid_of(np.arange(9.0)[None])
    assert np.isnan(slope_pct(grid)).all()
    assert np.isnan(slope_at_scale_pct(grid)).all()


def test_equals_gdaldem() -> None:
    # What GDAL 3.6.2 says of the same heights, stored by tests/oracles/make_gdaldem.py. It sums in float32.
    stored = np.load(Path(__file__).parents[1] / "oracles" / "gdaldem.npz")
    cell_x, cell_y = stored["cell_m"]
    grid = Grid.from_array(stored["heights"], Affine(cell_x, 0, 0, 0, -cell_y, 0), nodata=float(stored["nodata"]))
    slope = slope_pct(grid)
    there = np.isfinite(slope)
    np.testing.assert_array_equal(there, stored["slope"] != -9999)
    np.testing.assert_allclose(slope[there], stored["slope"][there], rtol=1e-5)
    # gdaldem takes cells for square in its aspect
    aspect = aspect_deg(Grid(grid.values, Affine(1, 0, 0, 0, -1, 0), grid.state))
    steep = there & (slope > 0.1)
    assert steep.sum() > 2000
    turned = (aspect[steep] - stored["aspect"][steep] + 180) % 360 - 180
    np.testing.assert_allclose(turned, 0, atol=1e-5 * 360)
