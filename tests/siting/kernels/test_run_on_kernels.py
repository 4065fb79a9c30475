"""Cells that drain into a footprint from beside it, against all cells followed one by one."""

import numpy as np
import pytest
from affine import Affine

from screening import grid
from screening.grid import Grid
from screening.siting.kernels import run_on_kernels
from screening.siting.kernels.run_on_kernels import cells_that_run_on
from screening.terrain import route
from screening.terrain.codes import linear_steps
from tests.siting.routing import STEPS

TEMPLATE = np.array([(r, c, 0) for r in range(-3, 4) for c in range(-5, 6)], dtype=np.int16)


def run(kernel, routing, at, unknown=None, state=None, template=TEMPLATE):
    rows, columns = routing.direction.shape
    row, column = np.array(at).T.astype(np.int64)
    n = len(row)
    flat = (
        routing.direction.reshape(-1),
        routing.accumulation.reshape(-1),
        np.ascontiguousarray(routing.grid.state if state is None else state).reshape(-1),
        np.zeros(rows * columns, dtype=bool) if unknown is None else unknown.reshape(-1),
    )
    out = np.full(n, -9, dtype=np.int64)
    room = (np.zeros(rows * columns, dtype=np.int32), np.empty(len(template), dtype=np.int64))
    zero = np.zeros(n, dtype=np.int64)
    first = np.array([[0, len(template)]], dtype=np.int64)
    kernel(row, column, zero, zero, template, first, *flat, linear_steps(columns), 60, columns, *room, out)
    return out.tolist()


def followed(routing, at):
    """Cells of ground outside the footprint whose water comes to it, each followed by itself."""
    direction, state = routing.direction, routing.grid.state
    inside = {((at[0] + r) // 2, (at[1] + c) // 2) for r, c, _ in TEMPLATE.tolist()}
    count = 0
    for cell in np.ndindex(direction.shape):
        if cell in inside or state[cell] in (1, 3):
            continue
        r, c = cell
        while direction[r, c] in STEPS:
            r, c = r + STEPS[int(direction[r, c])][0], c + STEPS[int(direction[r, c])][1]
            if (r, c) in inside:
                count += 1
                break
    return count


def test_states_are_numbered_as_in_the_grid():
    assert (run_on_kernels.WALL, run_on_kernels.NODATA) == (grid.WALL, grid.NODATA)


@pytest.mark.parametrize("kernel", [cells_that_run_on, cells_that_run_on.py_func], ids=["compiled", "python"])
def test_each_cell_that_comes_in_counts_once(kernel):
    """Rough ground with walls, where water leaves many a footprint and comes back to it."""
    rng = np.random.default_rng(4)
    returns = crossed = 0
    for _ in range(12):
        grid = Grid.from_array(rng.normal(0, 1, (40, 40)) - 0.02 * np.arange(40)[:, None], Affine(1, 0, 0, 0, -1, 0))
        state = np.array(grid.state)
        state[10:16, 12:20] = 1
        state[12:14, 14:18] = 0  # a courtyard, whose way out crosses the wall
        routing = route(grid.with_state(state))
        at = rng.integers(12, 66, (12, 2))
        got = run(kernel, routing, at)
        assert got == [followed(routing, one) for one in at.tolist()]
        returns += sum(_comes_back(routing, one) for one in at.tolist())
        crossing = np.argwhere((state == 1) & (routing.accumulation > 0))
        inside = run(kernel, routing, 2 * crossing)
        assert inside == [followed(routing, one) for one in (2 * crossing).tolist()]
        crossed += len(crossing)
    assert returns > 10
    assert crossed >= 12


def _comes_back(routing, at):
    """Whether water that leaves a footprint enters it again."""
    direction = routing.direction
    inside = {((at[0] + r) // 2, (at[1] + c) // 2) for r, c, _ in TEMPLATE.tolist()}
    for cell in inside:
        (r, c), left = cell, False
        while direction[r, c] in STEPS:
            r, c = r + STEPS[int(direction[r, c])][0], c + STEPS[int(direction[r, c])][1]
            left = left or (r, c) not in inside
            if left and (r, c) in inside:
                return True
    return False


@pytest.mark.parametrize("kernel", [cells_that_run_on, cells_that_run_on.py_func], ids=["compiled", "python"])
def test_a_footprint_off_the_data_or_below_it_is_not_known(kernel):
    rows = -np.abs(np.arange(30) - 15.0)
    heights = np.add.outer(rows, -0.01 * np.abs(np.arange(30) - 15.0))
    routing = route(Grid.from_array(heights, Affine(1, 0, 0, 0, -1, 0)))
    unknown = np.zeros((30, 30), dtype=bool)
    assert run(kernel, routing, [(30, 30), (44, 30), (1, 30)], unknown)[2] == -1  # reaches past the window
    unknown[22, 15] = True
    state = np.array(routing.grid.state)
    state[9, 15] = 3
    first, second, third = run(kernel, routing, [(30, 30), (44, 30), (16, 30)], unknown, state)
    assert first == 0  # astride the ridge nothing comes in
    assert second == -1
    assert third == -1
