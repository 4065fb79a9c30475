"""Routing in tiles gives what routing in memory gives, bit for bit."""

from pathlib import Path

import numpy as np
import pytest
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.errors import BadInput
from screening.grid import NODATA, OUTLET, WALL, Grid
from screening.sources import ArraySink, ArraySource, GeoTiffSink, GeoTiffSource, Window
from screening.terrain import (
    KeepHollows,
    MemoryGrid,
    RasterGrid,
    Routing,
    RoutingSinks,
    WithCuts,
    WithOutlets,
    cut_culverts,
    route,
    route_tiles,
)
from tests.terrain.strategies import grids, ground, scatter_states

LAYERS = ("filled", "direction", "accumulation", "conditioned", "hollow_depth", "hollow_id")
UNIT = Affine(1, 0, 0, 0, -1, 0)
PLACED = Affine(1, 0, 5000, 0, -1, 7000)


def empty_layers(grid: Grid) -> dict[str, np.ndarray]:
    dtypes = {"direction": np.uint8, "accumulation": np.int64, "hollow_id": np.int32}
    return {name: np.zeros(grid.shape, dtypes.get(name, grid.values.dtype)) for name in LAYERS}


def assert_layers(layers: dict[str, np.ndarray], routing: Routing) -> None:
    for name, values in layers.items():
        np.testing.assert_array_equal(values, getattr(routing, name), err_msg=name, strict=True)


def made_up(rows: int, columns: int, seed: int = 1) -> Grid:
    rng = np.random.default_rng(seed)
    state = scatter_states(rows, columns, rng)
    z = ground("rough", rows, columns, rng).astype(np.float32)
    z[state == NODATA] = np.nan
    return Grid(z, UNIT, state, 0.5)


@settings(max_examples=25, deadline=None)
@given(grids(40), st.integers(1, 17), st.booleans())
def test_same_as_in_memory(grid: Grid, tile: int, real: bool) -> None:
    keep = KeepHollows(depth_m=0.8, area_m2=12.0) if real else None
    whole, layers = route(grid, keep=keep), empty_layers(grid)
    sinks = RoutingSinks(**{name: ArraySink(values) for name, values in layers.items()})
    found = route_tiles(MemoryGrid(grid), sinks, keep=keep, hollows=True, tile=tile, threads=1)
    assert_layers(layers, whole)
    assert found.hollows is not None
    for name in found.hollows.__dataclass_fields__:
        np.testing.assert_array_equal(getattr(found.hollows, name), getattr(whole.hollows, name), err_msg=name)
    np.testing.assert_array_equal(found.kept, whole.kept if keep else np.zeros(len(whole.hollows), bool))


def test_from_geotiff_to_geotiff(tmp_path: Path) -> None:
    grid = made_up(300, 270)
    source = GeoTiffSink(tmp_path / "z.tif", grid.shape, PLACED, "float32", nodata=-9999.0)
    source.write(Window(0, 0, *grid.shape), np.where(grid.state == NODATA, np.float32(-9999), grid.values))
    source.close()
    states = ArraySource(np.where(grid.state == NODATA, 0, grid.state).astype(np.uint8), PLACED)
    opened = {
        "filled": GeoTiffSink(tmp_path / "filled.tif", grid.shape, PLACED, "float32", nodata=np.nan),
        "direction": GeoTiffSink(tmp_path / "direction.tif", grid.shape, PLACED, "uint8"),
        "accumulation": GeoTiffSink(tmp_path / "accumulation.tif", grid.shape, PLACED, "int64"),
    }
    elevation = RasterGrid(GeoTiffSource(tmp_path / "z.tif"), states, height_factor=0.5)
    found = route_tiles(elevation, RoutingSinks(**opened), tile=64, threads=2)
    assert found.hollows is None
    for sink in opened.values():
        sink.close()
    layers = {name: GeoTiffSource(tmp_path / f"{name}.tif").read() for name in opened}
    assert_layers(layers, route(grid))


def test_integers_with_a_nodata_value() -> None:
    z = np.random.default_rng(2).integers(-5, 9, (40, 33)).astype(np.int16)
    source = RasterGrid(ArraySource(z, UNIT), nodata=-5)
    layers = empty_layers(Grid.from_array(z, UNIT))
    route_tiles(source, RoutingSinks(filled=ArraySink(layers["filled"])), tile=16)
    np.testing.assert_array_equal(layers["filled"], route(Grid.from_array(z, UNIT, nodata=-5)).filled)


def test_outlets_and_cuts_by_window() -> None:
    grid = made_up(60, 50, 4)
    cells = np.sort(np.random.default_rng(0).choice(grid.values.size, 30, replace=False))
    state = np.array(grid.state).reshape(-1)
    state[cells] = np.where(state[cells] == NODATA, NODATA, OUTLET)
    layers = empty_layers(grid)
    route_tiles(WithOutlets(MemoryGrid(grid), cells), RoutingSinks(direction=ArraySink(layers["direction"])), tile=9)
    np.testing.assert_array_equal(layers["direction"], route(grid.with_state(state.reshape(grid.shape))).direction)

    cut, depth = cut_culverts(grid, [np.array([[4.5, -8.5], [40.5, -50.5]])])
    cells = np.flatnonzero(depth > 0)
    source = WithCuts(MemoryGrid(grid), cells, cut.values.reshape(-1)[cells].astype(np.float64))
    route_tiles(source, RoutingSinks(conditioned=ArraySink(layers["conditioned"])), tile=7)
    np.testing.assert_array_equal(layers["conditioned"], route(cut).conditioned)


def test_refuses_what_it_cannot_route() -> None:
    empty = MemoryGrid(Grid.from_array(np.full((9, 9), np.nan), UNIT))
    with pytest.raises(BadInput, match="no valid cell"):
        route_tiles(empty, RoutingSinks(), tile=4)
    walls = MemoryGrid(Grid(np.ones((9, 9)), UNIT, np.full((9, 9), WALL, np.uint8)))
    with pytest.raises(BadInput, match="no valid cell"):
        route_tiles(walls, RoutingSinks(), tile=4)
    with pytest.raises(ValueError, match="at least 1"):
        route_tiles(empty, RoutingSinks(), tile=0)
    with pytest.raises(ValueError, match="shape of elevation"):
        RasterGrid(ArraySource(np.ones((3, 3)), UNIT), ArraySource(np.ones((3, 2)), UNIT))
