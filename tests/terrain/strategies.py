"""Grids for property tests: rough, flat, stepped and spiral ground with nodata, walls and outlets."""

from __future__ import annotations

import numpy as np
from affine import Affine
from hypothesis import strategies as st
from numpy.typing import NDArray

from screening.grid import NODATA, OUTLET, VALID, WALL, Grid


def spiral(rows: int, columns: int) -> NDArray[np.float64]:
    """A groove that winds from the rim to the middle, falling inwards, between high banks."""
    z = np.full((rows, columns), 50.0)
    r = c = 0
    dr, dc = 0, 1
    height = 40.0
    for _ in range(rows * columns):
        z[r, c] = height
        height -= 0.25
        if not (0 <= r + 2 * dr < rows and 0 <= c + 2 * dc < columns) or z[r + 2 * dr, c + 2 * dc] != 50.0:
            dr, dc = dc, -dr
        if not (0 <= r + dr < rows and 0 <= c + dc < columns) or z[r + dr, c + dc] != 50.0:
            break
        r, c = r + dr, c + dc
    return z


def ground(kind: str, rows: int, columns: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Heights of one kind."""
    if kind == "spiral":
        return spiral(rows, columns)
    if kind == "terraces":
        steps = np.floor(np.add.outer(np.arange(rows), np.arange(columns)) / 4.0)
        return steps - 2.0 * (rng.random((rows, columns)) < 0.1)
    if kind == "flat":
        return rng.choice([0.0, -0.0, 1.0], (rows, columns), p=[0.6, 0.3, 0.1])
    if kind == "integers":
        return rng.integers(-2, 5, (rows, columns)).astype(np.float64)
    return rng.normal(size=(rows, columns)).cumsum(axis=1) + rng.normal(size=(rows, columns))


def scatter_states(rows: int, columns: int, rng: np.random.Generator) -> NDArray[np.uint8]:
    """Nodata holes, walls one by one, houses with courts, a few outlets."""
    state = np.full((rows, columns), VALID, np.uint8)
    if rng.random() < 0.5:
        state[rng.random((rows, columns)) < rng.choice([0.02, 0.1, 0.3])] = NODATA
    if rng.random() < 0.6:
        state[rng.random((rows, columns)) < rng.choice([0.05, 0.2, 0.5, 0.8])] = WALL
        for _ in range(rng.integers(0, 5)):
            r, c = rng.integers(0, rows), rng.integers(0, columns)
            h, w = rng.integers(2, 9, 2)
            state[r : r + h, c : c + w] = WALL
            state[r + 1 : r + h - 1, c + 1 : c + w - 1] = VALID
    if rng.random() < 0.4:
        state[rng.random((rows, columns)) < 0.03] = OUTLET
    if rng.random() < 0.1:
        state[[0, -1]] = WALL
        state[:, [0, -1]] = WALL
    if not np.isin(state, (VALID, OUTLET)).any():
        state[rows // 2, columns // 2] = VALID
    return state


@st.composite
def grids(draw: st.DrawFn, largest: int = 60) -> Grid:
    """A grid with at least one cell of ground; square cells or not, float32 or float64."""
    side = st.integers(1, largest)
    rows, columns = draw(st.one_of(st.tuples(side, side), st.tuples(st.just(1), side), st.tuples(side, st.just(1))))
    kind = draw(st.sampled_from(["rough", "integers", "flat", "terraces", "spiral"]))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    state = scatter_states(rows, columns, rng)
    z = ground(kind, rows, columns, rng).astype(draw(st.sampled_from([np.float32, np.float64])))
    z[state == NODATA] = np.nan
    cell_x, cell_y = draw(st.sampled_from([(1.0, 1.0), (2.0, 1.0), (0.5, 0.75)]))
    return Grid(z, Affine(cell_x, 0, 0, 0, -cell_y, 0), state)
