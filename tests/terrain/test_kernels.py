"""Every kernel gives the same compiled and as plain Python."""

import importlib
import pkgutil
from collections.abc import Iterator
from types import ModuleType

import numpy as np
import pytest

import screening.terrain as terrain
from screening.grid import Grid
from screening.sources import ArraySink, ArraySource
from tests.terrain.strategies import ground, scatter_states
from tests.terrain.test_routing import UNIT

MODULES = [
    importlib.import_module(found.name) for found in pkgutil.walk_packages(terrain.__path__, terrain.__name__ + ".")
]


def kernels_of(module: ModuleType) -> Iterator[str]:
    return (name for name, value in vars(module).items() if hasattr(value, "py_func"))


def made_up(dtype: type) -> Grid:
    rng = np.random.default_rng(11)
    state = scatter_states(23, 19, np.random.default_rng(3))
    state[5:12, 5:12] = 1
    state[7:10, 7:10] = 0
    z = np.round(ground("rough", 23, 19, rng), 1).astype(dtype)
    z[state == 3] = np.nan
    return Grid(z, UNIT, state)


def everything(grid: Grid) -> list[np.ndarray]:
    """Results that between them pass through all kernels."""
    routing = terrain.route(grid, tile=8, threads=1)
    lean = terrain.drain(grid, tile=8, threads=1)
    followed = terrain.fate(routing.direction, routing.hollow_id)
    label, end = np.zeros(grid.shape, np.int32), np.zeros(grid.shape, np.int64)
    directions, labels = ArraySource(routing.direction, UNIT), ArraySource(routing.hollow_id, UNIT)
    terrain.fate_tiles(directions, labels, label=ArraySink(label), end=ArraySink(end), tile=8, threads=1)
    added = terrain.flow_accumulation(routing.direction)
    infinite = terrain.d_infinity(lean)
    path = terrain.flow_path(routing.direction, 7, 7)
    east_north = terrain.gradient_at_scale(grid, 5.0, threads=1)
    return [
        routing.filled, routing.direction, routing.accumulation, routing.conditioned, routing.hollow_id,
        *vars(routing.hollows).values(), lean.filled, lean.accumulation, followed.label, followed.end, label, end,
        added, *vars(infinite).values(),
        *path,
        terrain.slope_pct(grid, threads=1), terrain.aspect_deg(grid), *east_north,
    ]  # fmt: skip


@pytest.mark.parametrize("dtype", [np.float32, np.float64])
def test_plain_python_gives_the_same(dtype: type, monkeypatch: pytest.MonkeyPatch) -> None:
    grid = made_up(dtype)
    compiled = everything(grid)
    all_kernels = {name for module in MODULES for name in kernels_of(module)}
    called: set[str] = set()
    for module in MODULES:
        for name in list(kernels_of(module)):
            kernel = getattr(module, name)

            def plain(*args, name=name, function=kernel.py_func):
                called.add(name)
                with np.errstate(all="ignore"):
                    return function(*args)

            monkeypatch.setattr(module, name, plain)
    for one, other in zip(everything(grid), compiled, strict=True):
        np.testing.assert_allclose(one, other, rtol=1e-15, atol=0)
    assert called == all_kernels
