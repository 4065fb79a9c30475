"""Fates in tiles are those in memory, bit for bit."""

import numpy as np
import pytest
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.grid import Grid
from screening.sources import ArraySink, ArraySource, Window
from screening.terrain import CellLabels, catchments, fate, fate_tiles, route
from tests.terrain.strategies import grids

UNIT = Affine(1, 0, 0, 0, -1, 0)


@settings(max_examples=25, deadline=None)
@given(grids(40), st.integers(1, 17), st.booleans(), st.integers(0, 2**31))
def test_same_as_in_memory(grid: Grid, tile: int, include_self: bool, seed: int) -> None:
    direction = route(grid).direction
    rng = np.random.default_rng(seed)
    labels = (rng.integers(1, 9, grid.shape) * (rng.random(grid.shape) < 0.05)).astype(np.int32)
    label, end = np.full(grid.shape, 99, np.int32), np.full(grid.shape, 99, np.int64)
    fate_tiles(
        ArraySource(direction, UNIT),
        ArraySource(labels, UNIT),
        label=ArraySink(label),
        end=ArraySink(end),
        include_self=include_self,
        tile=tile,
        threads=1,
    )
    whole = fate(direction, labels, include_self=include_self)
    np.testing.assert_array_equal(label, whole.label)
    np.testing.assert_array_equal(end, whole.end)


def test_catchments_from_a_few_cells() -> None:
    rng = np.random.default_rng(6)
    direction = route(Grid.from_array(rng.random((120, 90)), UNIT)).direction
    rows, columns = rng.integers(0, 120, 20), rng.integers(0, 90, 20)
    rows[7], columns[7] = rows[2], columns[2]
    outlets = CellLabels((120, 90), UNIT, rows * 90 + columns, np.arange(1, 21, dtype=np.int32))
    label = np.zeros((120, 90), np.int32)
    fate_tiles(ArraySource(direction, UNIT), outlets, label=ArraySink(label), include_self=True, tile=32)
    np.testing.assert_array_equal(label, catchments(direction, rows, columns))
    assert (outlets.read() > 0).sum() == 19
    assert outlets.dtype == np.int32
    r, c = int(rows[2]), int(columns[2])
    assert outlets.read(Window(r, c, 1, 1)).tolist() == [[3]]


def test_refuses_a_circle_across_tiles_and_other_shapes() -> None:
    circle = ArraySource(np.array([[1, 4], [64, 16]], np.uint8), UNIT)
    none = CellLabels((2, 2), UNIT, np.zeros(0, np.int64), np.zeros(0, np.int32))
    for tile in (1, 2):
        with pytest.raises(ValueError, match="circle"):
            fate_tiles(circle, none, tile=tile, threads=1)
    with pytest.raises(ValueError, match="shape"):
        fate_tiles(circle, CellLabels((3, 2), UNIT, none.cells, none.labels))
