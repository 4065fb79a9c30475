"""Following directions: labels met, ends, paths and catchments."""

import numpy as np
import pytest
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.grid import Grid
from screening.terrain import catchments, fate, flow_accumulation, flow_path, route
from screening.terrain.codes import COLUMN_STEP, ROW_STEP
from tests.terrain.strategies import grids

DOWN = np.array([[4, 4, 8], [1, 2, 4], [255, 0, 0]], np.uint8)
LABELS = np.array([[7, 0, 0], [0, 3, 0], [0, 0, 5]], np.int32)


def walk(direction: np.ndarray, r: int, c: int) -> list[tuple[int, int]]:
    path = [(r, c)]
    while direction[path[-1]] not in (0, 255):
        k = int(direction[path[-1]]).bit_length() - 1
        path.append((path[-1][0] + int(ROW_STEP[k]), path[-1][1] + int(COLUMN_STEP[k])))
    return path


def test_first_label_and_end_by_hand() -> None:
    found = fate(DOWN, LABELS)
    assert found.label.tolist() == [[3, 3, 3], [3, 5, 5], [0, 0, 0]]
    assert found.end.tolist() == [[8, 8, 8], [8, 8, 8], [-1, 7, 8]]
    with_self = fate(DOWN, LABELS, include_self=True)
    assert with_self.label.tolist() == [[7, 3, 3], [3, 3, 5], [0, 0, 5]]
    np.testing.assert_array_equal(with_self.end, found.end)


@settings(max_examples=25, deadline=None)
@given(grids(20), st.integers(0, 2**31))
def test_equals_walking_from_every_cell(grid: Grid, seed: int) -> None:
    direction = route(grid).direction
    rng = np.random.default_rng(seed)
    labels = (rng.integers(1, 9, grid.shape) * (rng.random(grid.shape) < 0.1)).astype(np.int32)
    before, at = fate(direction, labels), fate(direction, labels, include_self=True)
    for r in range(grid.shape[0]):
        for c in range(grid.shape[1]):
            path = walk(direction, r, c)
            end = path[-1][0] * grid.shape[1] + path[-1][1]
            assert before.end[r, c] == (-1 if direction[r, c] == 255 else end)
            assert before.label[r, c] == next((labels[p] for p in path[1:] if labels[p]), 0)
            assert at.label[r, c] == next((labels[p] for p in path if labels[p]), 0)
            rows, columns = flow_path(direction, r, c)
            assert list(zip(rows.tolist(), columns.tolist(), strict=True)) == path


def test_catchments_of_given_outlets() -> None:
    z = np.add.outer(np.arange(6.0), np.zeros(5))
    direction = route(Grid.from_array(z, Affine(1, 0, 0, 0, -1, 0))).direction
    found = catchments(direction, np.array([2, 2]), np.array([1, 3]))
    assert found.tolist() == [[0] * 5, [0] * 5, [0, 1, 0, 2, 0], [0, 1, 0, 2, 0], [0, 1, 0, 2, 0], [0] * 5]


def test_of_two_outlets_in_one_cell_the_first_counts() -> None:
    assert catchments(DOWN, np.array([2, 2]), np.array([2, 2]))[0, 0] == 1


def test_published_accumulation_of_given_directions() -> None:
    # Directions all one way on 10 x 10 cells, the accumulation tests of Barnes's richdem.
    ramp = np.tile(np.arange(1, 11), (10, 1))
    for code, edge, expected in (
        (1, np.s_[:, -1], ramp),
        (64, np.s_[0], ramp.T[::-1]),
        (128, np.s_[:, -1], np.minimum(np.arange(1, 11)[None], 10 - np.arange(10)[:, None])),
    ):
        direction = np.full((10, 10), code, np.uint8)
        direction[edge] = 0
        direction[0] = 0 if code == 128 else direction[0]
        found = flow_accumulation(direction)
        np.testing.assert_array_equal(found, expected)
        assert found[direction == 0].sum() == 100


def test_accumulation_of_weights() -> None:
    weights = np.arange(9).reshape(3, 3)
    assert flow_accumulation(DOWN, weights).tolist() == [[0, 1, 2], [3, 10, 5], [6, 7, 23]]
    with pytest.raises(ValueError, match="integers of shape"):
        flow_accumulation(DOWN, weights * 1.0)
    with pytest.raises(ValueError, match="circle"):
        flow_accumulation(np.array([[1, 16]], np.uint8))


@settings(max_examples=15, deadline=None)
@given(grids(30))
def test_accumulation_of_a_routing_is_its_own(grid: Grid) -> None:
    routing = route(grid)
    is_ground = np.isin(grid.state, (0, 2)).astype(np.int64)
    np.testing.assert_array_equal(flow_accumulation(routing.direction, is_ground), routing.accumulation)


def test_refuses_directions_that_lead_nowhere() -> None:
    labels = np.zeros((1, 2), np.int32)
    with pytest.raises(ValueError, match="circle"):
        fate(np.array([[1, 16]], np.uint8), labels)
    with pytest.raises(ValueError, match="circle"):
        flow_path(np.array([[1, 16]], np.uint8), 0, 0)
    with pytest.raises(ValueError, match="off the raster"):
        fate(np.array([[1, 1]], np.uint8), labels)
    with pytest.raises(ValueError, match="3 is not a direction code"):
        fate(np.array([[3, 0]], np.uint8), labels)
    with pytest.raises(ValueError, match="uint8"):
        fate(np.array([[1, 0]]), labels)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="shape"):
        fate(np.array([[1, 0, 0]], np.uint8), labels)
    with pytest.raises(ValueError, match="must lie in"):
        flow_path(DOWN, 3, 0)
