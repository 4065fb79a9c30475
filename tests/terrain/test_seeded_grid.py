"""One grid of 5,000 x 4,100 cells, the same for all tiles, threads and workers."""

from pathlib import Path

import distributed
import numpy as np
import pytest

from screening.grid import NODATA, VALID, WALL, Grid
from screening.sources import ArraySink, ArraySource, GeoTiffSink, GeoTiffSource, Window
from screening.terrain import (
    MemoryGrid,
    RasterGrid,
    Routing,
    RoutingSinks,
    drain,
    fate,
    fate_tiles,
    route,
    route_on_dask,
    route_tiles,
)
from tests.terrain.test_in_tiles import LAYERS, PLACED, assert_layers, empty_layers
from tests.terrain.test_routing import UNIT, assert_drains, assert_same

pytestmark = pytest.mark.slow


def seeded_grid(rows: int, columns: int) -> Grid:
    """Rough made-up ground with holes and houses, some of them round a court."""
    rng = np.random.default_rng(2026)
    y, x = np.mgrid[:rows, :columns].astype(np.float32)
    z = 8 * np.sin(x / 310) * np.cos(y / 270) + 2 * np.sin((x + y) / 41) + np.sin((x - 2 * y) / 17) * 0.4
    z = np.round((z + rng.normal(0, 0.05, z.shape)) * 256).astype(np.float32) / 256
    state = np.zeros(z.shape, np.uint8)
    for r, c in zip(rng.integers(0, rows, 3000), rng.integers(0, columns, 3000), strict=True):
        state[r : r + 14, c : c + 11] = WALL
        if r % 7 == 0:
            state[r + 4 : r + 10, c + 4 : c + 7] = VALID
    for r, c in zip(rng.integers(0, rows, 300), rng.integers(0, columns, 300), strict=True):
        state[r : r + 30, c : c + 40] = NODATA
    z[state == NODATA] = np.nan
    return Grid(z, UNIT, state)


@pytest.fixture(scope="module")
def grid() -> Grid:
    return seeded_grid(5000, 4100)


@pytest.fixture(scope="module")
def whole(grid: Grid) -> Routing:
    return route(grid, tile=5000, threads=1)


def test_always_drains(grid: Grid, whole: Routing) -> None:
    assert whole.hollows.enclosed.sum() > 100
    assert_drains(grid, whole)


@pytest.mark.parametrize(("tile", "threads"), [(64, 2), (250, 4), (512, 1), (1000, 2), (4096, 2)])
def test_same_for_all_tiles_and_threads(grid: Grid, whole: Routing, tile: int, threads: int) -> None:
    assert_same(route(grid, tile=tile, threads=threads), whole)


def test_same_without_hollows_and_cuts(grid: Grid, whole: Routing) -> None:
    lean = drain(grid)
    for name in ("filled", "direction", "accumulation"):
        np.testing.assert_array_equal(getattr(lean, name), getattr(whole, name))


def test_same_strip_by_strip(grid: Grid, whole: Routing) -> None:
    layers = empty_layers(grid)
    sinks = RoutingSinks(**{name: ArraySink(layers[name]) for name in LAYERS})
    route_tiles(MemoryGrid(grid), sinks, tile=512)
    assert_layers(layers, whole)


@pytest.fixture(scope="module")
def files(grid: Grid, tmp_path_factory: pytest.TempPathFactory) -> RasterGrid:
    """The grid as two GeoTIFFs."""
    folder = tmp_path_factory.mktemp("seeded")
    rasters = []
    for name, values in (("z", grid.values), ("state", grid.state)):
        sink = GeoTiffSink(folder / f"{name}.tif", grid.shape, PLACED, str(values.dtype))
        sink.write(Window(0, 0, *grid.shape), values)
        sink.close()
        rasters.append(GeoTiffSource(folder / f"{name}.tif"))
    return RasterGrid(*rasters)


@pytest.mark.parametrize("workers", [1, 2])
def test_same_on_dask(files: RasterGrid, grid: Grid, whole: Routing, workers: int, tmp_path: Path) -> None:
    layers = {name: values for name, values in empty_layers(grid).items() if name in ("filled", "direction")}
    sinks = RoutingSinks(**{name: ArraySink(values) for name, values in layers.items()})
    with (
        distributed.LocalCluster(workers, threads_per_worker=1, processes=False, dashboard_address=None) as cluster,
        distributed.Client(cluster) as client,
    ):
        route_on_dask(client, files, sinks, tmp_path, tile=1000)
    assert_layers(layers, whole)


def test_fates_are_the_same_in_tiles(whole: Routing) -> None:
    labels = np.where(whole.hollow_id % 50 == 1, whole.hollow_id, 0).astype(np.int32)
    label, end = np.zeros(labels.shape, np.int32), np.zeros(labels.shape, np.int64)
    directions, given = ArraySource(whole.direction, UNIT), ArraySource(labels, UNIT)
    fate_tiles(directions, given, label=ArraySink(label), end=ArraySink(end), include_self=True)
    expected = fate(whole.direction, labels, include_self=True)
    np.testing.assert_array_equal(label, expected.label)
    np.testing.assert_array_equal(end, expected.end)
