"""Run-on: the ground beside a garden that drains into it over its lip."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from screening.area import Block
from screening.rules import Rules
from screening.siting.kernels.run_on_kernels import cells_that_run_on
from screening.siting.search_arrays import World
from screening.terrain.codes import linear_steps

__all__ = ["run_on_m2"]

FOLLOWED_M: Final = 60.0
"""Water that left a footprint does not come back to it from farther than this; less than the halo of a block."""

Integers = NDArray[np.int64]


def run_on_m2(
    block: Block, rules: Rules, row: Integers, column: Integers, shape: Integers, size: Integers, world: World
) -> NDArray[np.float64]:
    """Ground beside each footprint that drains into it, along the routed terrain's directions.

    Roofs are walls there and add nothing: what their downspouts bring is led, not run on. Ground that drains through
    the footprint twice counts once.

    Parameters
    ----------
    block
        The block; its rasters have ``upslope_unknown`` where the rules ask for run-on.
    rules
        ``run_on``.
    row, column, shape, size
        Mask cell of the centre, shape and number of the first template size that is large enough.
    world
        Templates.

    Returns
    -------
    numpy.ndarray
        Whole elevation cells, shape (n,); NaN where ground without elevation lies under the footprint or may drain to
        it, and everywhere when the rules do not ask. [m2]
    """
    out = np.full(len(row), -1, dtype=np.int64)
    if not rules.run_on or not len(row):
        return np.full(len(row), np.nan)
    rasters, columns = block.rasters, block.shape[1]
    flat = (
        np.ascontiguousarray(rasters["direction"]).reshape(-1),
        np.ascontiguousarray(rasters["accumulation"], dtype=np.int64).reshape(-1),
        np.ascontiguousarray(rasters["state"]).reshape(-1),
        np.ascontiguousarray(rasters["upslope_unknown"]).reshape(-1),
    )
    far = int(FOLLOWED_M / max(block.cell_x_m, block.cell_y_m))
    stamp = np.zeros(flat[0].size, dtype=np.int32)
    found = np.empty(int((world.first_cell[:, -1] - world.first_cell[:, 0]).max()), dtype=np.int64)
    templates = (world.cells, world.first_cell)
    cells_that_run_on(
        row, column, shape, size, *templates, *flat, linear_steps(columns), far, columns, stamp, found, out
    )
    return np.where(out < 0, np.nan, out * (block.cell_x_m * block.cell_y_m))
