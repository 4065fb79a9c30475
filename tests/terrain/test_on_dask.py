"""Routing on Dask gives what routing in memory gives, on one worker and on two."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import distributed
import numpy as np
import pytest

from screening.errors import BadInput
from screening.grid import Grid
from screening.sources import ArraySink
from screening.terrain import KeepHollows, MemoryGrid, RoutingSinks, route, route_on_dask
from screening.terrain.graph import solve
from screening.terrain.on_dask import _survey, _Task
from screening.terrain.tiles import tile_windows
from tests.terrain.test_in_tiles import LAYERS, UNIT, assert_layers, empty_layers, made_up


@pytest.fixture(params=[1, 2], scope="module")
def client(request: pytest.FixtureRequest) -> Iterator[Any]:
    with (
        distributed.LocalCluster(
            n_workers=request.param, threads_per_worker=1, processes=request.param > 1, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        yield client


@pytest.mark.parametrize("keep", [None, KeepHollows(depth_m=0.5)])
def test_same_as_in_memory(client: Any, tmp_path: Path, keep: KeepHollows | None) -> None:
    grid = made_up(210, 170, 3)
    layers = empty_layers(grid)
    sinks = RoutingSinks(**{name: ArraySink(layers[name]) for name in LAYERS})
    found = route_on_dask(client, MemoryGrid(grid), sinks, tmp_path / "tiles", keep=keep, hollows=True, tile=64)
    whole = route(grid, keep=keep)
    assert_layers(layers, whole)
    assert found.hollows is not None
    np.testing.assert_array_equal(found.hollows.volume_parts, whole.hollows.volume_parts)
    np.testing.assert_array_equal(found.hollows.first_cell, whole.hollows.first_cell)
    assert list((tmp_path / "tiles").iterdir()) == []


def test_a_task_may_run_twice(tmp_path: Path) -> None:
    grid = made_up(60, 50)
    source = MemoryGrid(grid)
    windows = tile_windows(grid.shape, 32)
    visits = [_survey(source, window) for window in windows]
    solution = solve([survey for survey, _ in visits], grid.shape, 32)
    task = _Task(source, windows[0], solution.orders(0), 0, ("direction", "hollow_id"), True, tmp_path / "a")
    task.run()
    once = (tmp_path / "a.npz").read_bytes()
    task.run()
    assert (tmp_path / "a.npz").read_bytes() == once
    assert [path.name for path in tmp_path.iterdir()] == ["a.npz"]


def test_refuses_a_raster_without_ground(client: Any, tmp_path: Path) -> None:
    empty = MemoryGrid(Grid.from_array(np.full((9, 9), np.nan), UNIT))
    with pytest.raises(BadInput, match="no valid cell"):
        route_on_dask(client, empty, RoutingSinks(), tmp_path)
    with pytest.raises(ValueError, match="at least 1"):
        route_on_dask(client, empty, RoutingSinks(), tmp_path, tile=0)
