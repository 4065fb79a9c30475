"""Rasters made where they are read: the same in any window, and held no longer than anybody looks at them."""

import gc

import numpy as np
import pytest
from affine import Affine

from screening.blocks.made_rasters import SLOPES, MadeSource, slope_sources
from screening.grid import Grid
from screening.sources import RasterSource, Window
from screening.terrain import gradient_at_scale, steepness_pct


def rough(shape: tuple[int, int] = (300, 40), factor: float = 0.3048) -> Grid:
    random = np.random.default_rng(7)
    heights = random.normal(100.0, 2.0, shape).astype(np.float32)
    heights[random.random(shape) < 0.02] = np.nan
    return Grid.from_array(heights, Affine(2.0, 0, 5000, 0, -1.0, 9000), height_factor=factor)


def test_slopes_of_a_window_are_those_of_the_whole() -> None:
    grid = rough()
    dz_dx, dz_dy = gradient_at_scale(grid, 5.0)
    whole = dict(zip(SLOPES, (dz_dx, dz_dy, steepness_pct(dz_dx, dz_dy)), strict=True))
    sources = slope_sources(grid, 5.0)
    for window in (Window(0, 0, 300, 40), Window(0, 3, 1, 1), Window(100, 7, 190, 20), Window(297, 38, 3, 2)):
        for name, values in whole.items():
            np.testing.assert_array_equal(sources[name].read(window), values[window.slices])
    assert sources["slope_pct"].transform == grid.transform
    assert sources["slope_pct"].dtype == np.float64


def test_the_slope_of_a_plane() -> None:
    y, x = np.mgrid[:20, :20]
    grid = Grid.from_array(0.03 * x - 0.04 * y, Affine(1, 0, 0, 0, -1, 0))
    found = {name: source.read(Window(5, 5, 4, 6)) for name, source in slope_sources(grid, 5.0).items()}
    assert found["dz_dx"] == pytest.approx(np.full((4, 6), 0.03))
    assert found["dz_dy"] == pytest.approx(np.full((4, 6), 0.04))
    assert found["slope_pct"] == pytest.approx(np.full((4, 6), 5.0))


def test_the_slopes_of_a_window_are_made_together_and_let_go() -> None:
    sources, window = slope_sources(rough(), 5.0), Window(10, 0, 20, 30)
    east, steep = sources["dz_dx"].read(window), sources["slope_pct"].read(window)
    assert east.base is not None
    assert east.base is steep.base
    kept = east.base[0, 0, 0]
    east.base[0, 0, 0] = -9.0
    assert sources["dz_dx"].read(window)[0, 0] == -9.0
    del east, steep
    gc.collect()
    assert sources["dz_dx"].read(window)[0, 0] == kept


def test_a_made_raster_reads_as_any_other() -> None:
    grid = rough((4, 5))
    asked = []

    def make(window: Window) -> np.ndarray:
        asked.append(window)
        return np.full((window.rows, window.columns), 3.0)

    source = MadeSource.on(grid, np.dtype(np.float64), make)
    assert isinstance(source, RasterSource)
    assert source.read().shape == (4, 5)
    assert source.read(Window(1, 2, 2, 3)).shape == (2, 3)
    assert asked == [Window(0, 0, 4, 5), Window(1, 2, 2, 3)]
