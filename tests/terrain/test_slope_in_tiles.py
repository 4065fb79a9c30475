"""Slope and aspect in tiles equal those in memory, bit for bit."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.grid import Grid
from screening.sources import ArraySink, GeoTiffSink, GeoTiffSource, Window
from screening.terrain import (
    MemoryGrid,
    RasterGrid,
    aspect_deg,
    downslope_deg,
    gradient_at_scale,
    slope_at_scale_pct,
    slope_pct,
    slope_tiles,
)
from tests.terrain.strategies import grids


@settings(deadline=None, max_examples=60)
@given(grids(), st.integers(1, 17), st.sampled_from([None, 3.0, 5.0, 11.0]), st.integers(1, 2))
def test_tiles_equal_the_whole(grid: Grid, tile: int, scale_m: float | None, threads: int) -> None:
    slope, aspect = np.full(grid.shape, -1.0), np.full(grid.shape, -1.0)
    slope_tiles(
        MemoryGrid(grid),
        slope=ArraySink(slope),
        aspect=ArraySink(aspect),
        scale_m=scale_m,
        tile=tile,
        threads=threads,
    )
    if scale_m is None:
        wanted = slope_pct(grid), aspect_deg(grid)
    else:
        wanted = slope_at_scale_pct(grid, scale_m), downslope_deg(*gradient_at_scale(grid, scale_m))
    np.testing.assert_array_equal(slope, wanted[0])
    np.testing.assert_array_equal(aspect, wanted[1])


def test_from_file_to_file(tmp_path: Path) -> None:
    place = Affine(2.0, 0, 0, 0, -2.0, 0)
    z = np.random.default_rng(3).normal(size=(700, 530)).cumsum(axis=0).astype(np.float32)
    z[100:104, 50:60] = np.nan
    with GeoTiffSink(tmp_path / "z.tif", z.shape, place, "float32", nodata=float("nan")) as heights:
        heights.write(Window(0, 0, *z.shape), z)
    source = RasterGrid(GeoTiffSource(tmp_path / "z.tif"))
    with GeoTiffSink(tmp_path / "slope.tif", z.shape, place, "float32", nodata=float("nan")) as slope:
        slope_tiles(source, slope=slope, tile=256)
    wanted = slope_pct(Grid.from_array(z, place))
    np.testing.assert_array_equal(GeoTiffSource(tmp_path / "slope.tif").read(), wanted)
    assert np.isnan(wanted).any()


def test_tiles_and_threads_are_at_least_one() -> None:
    grid = MemoryGrid(Grid.from_array(np.zeros((4, 4)), Affine(1, 0, 0, 0, -1, 0)))
    with pytest.raises(ValueError, match="at least 1, got 0 and 2"):
        slope_tiles(grid, tile=0)
