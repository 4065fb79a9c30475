"""From heights to the way of the water: filled surface, directions, accumulation, hollows and cuts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from screening.errors import BadInput, Fault
from screening.grid import NODATA, OUTLET, VALID, WALL, Grid
from screening.terrain.codes import COLUMN_STEP, NO_FLOW, ROW_STEP
from screening.terrain.hollows import Hollows
from screening.terrain.kernels.flood import follow_tree, grow_tree, lowest_ways
from screening.terrain.kernels.hollows import measure_hollows, number_hollows

__all__ = ["Routing", "route"]

Mode = Literal["carve", "fill"]


@dataclass(frozen=True, eq=False)
class Routing:
    """The way of the water over a grid. All arrays have the grid's shape; heights are in the grid's own unit.

    Parameters
    ----------
    grid
        What was routed.
    mode
        ``"carve"`` or ``"fill"``: which surface `conditioned` is.
    filled
        Lowest surface on which every cell drains: the level of a hollow where one is, else the height. Walls keep
        their height, nodata is NaN.
    direction
        D8 codes, uint8: E 1, SE 2, S 4, SW 8, W 16, NW 32, N 64, NE 128; 0 where water leaves; 255 at nodata and at
        walls off the way out of enclosed ground.
    accumulation
        Ground cells that drain through a cell, itself counted, int64; 0 at nodata and dry walls. Walls add nothing.
    hollow_depth
        Filled less height; NaN at nodata, 0 at walls.
    hollow_id
        Number of the hollow, int32, 0 outside.
    hollows
        The table of hollows.
    carved
        How deep each cell was cut to let hollows drain along the tree; 0 where it was not and at walls, NaN at
        nodata; None when filling.
    """

    grid: Grid
    mode: Mode
    filled: NDArray[Any]
    direction: NDArray[np.uint8]
    accumulation: NDArray[np.int64]
    hollow_depth: NDArray[Any]
    hollow_id: NDArray[np.int32]
    hollows: Hollows
    carved: NDArray[Any] | None

    @property
    def conditioned(self) -> NDArray[Any]:
        """The surface on which water never runs uphill along ``direction``: carved or filled."""
        return self.filled if self.carved is None else np.subtract(self.grid.values, self.carved)


def route(grid: Grid, *, mode: Mode = "carve", tile: int = 512, threads: int = 2) -> Routing:
    """Route water over a grid: every valid cell drains to an outlet along one unique tree.

    Outlets are the raster's rim, cells beside nodata, and cells in state OUTLET. Walls take no part, but where ground
    has walls all round its way out crosses the wall at its lowest ground. The result does not depend on ``tile`` or
    ``threads``.

    Parameters
    ----------
    grid
        Heights and cell states.
    mode
        ``"carve"`` cuts the least path out of each hollow; ``"fill"`` raises the hollow to its spill.
    tile
        Side of the tiles worked on [cells].
    threads
        How many threads share the tiles.

    Raises
    ------
    BadInput
        When no cell of the grid is ground.
    """
    if mode not in ("carve", "fill"):
        raise ValueError(f"mode must be 'carve' or 'fill', got {mode!r}")
    if tile < 1 or threads < 1:
        raise ValueError(f"tile and threads must be at least 1, got {tile} and {threads}")
    ground = (grid.state == VALID) | (grid.state == OUTLET)
    if not ground.any():
        raise BadInput([Fault("The elevation has no valid cell here", "Check its extent and its nodata value")])
    z, state, shape = grid.values, grid.state, grid.shape
    step_m = np.hypot(ROW_STEP * grid.cell_y_m, COLUMN_STEP * grid.cell_x_m)
    way = np.empty(shape, np.uint8)
    lowest_ways(z, state, ROW_STEP, COLUMN_STEP, 1.0 / step_m, way)
    direction, order = np.empty(shape, np.uint8), np.empty(z.size, np.int64)
    order = order[: grow_tree(z, state, ROW_STEP, COLUMN_STEP, way, direction, order)]
    filled, lowest = np.full(shape, np.nan, z.dtype), np.full(shape, np.nan, z.dtype)
    enclosed, accumulation = np.zeros(shape, np.bool_), np.zeros(shape, np.int64)
    follow_tree(z, state, direction, order, ROW_STEP, COLUMN_STEP, filled, enclosed, accumulation, lowest)
    wall = state == WALL
    filled[wall] = z[wall]
    direction[wall & (accumulation == 0)] = NO_FLOW
    carved = None
    if mode == "carve":
        carved = np.where(wall, z.dtype.type(0), z - lowest)
    number, table = _find_hollows(z, filled, ground, enclosed & ground)
    depth = np.where(state == NODATA, z.dtype.type(np.nan), filled - z)
    return Routing(grid, mode, filled, direction, accumulation, depth, number, table, carved)


def _find_hollows(
    z: NDArray[Any], filled: NDArray[Any], ground: NDArray[np.bool_], enclosed: NDArray[np.bool_]
) -> tuple[NDArray[np.int32], Hollows]:
    """Number and measure the hollows; enclosed ground is a hollow whatever its depth."""
    inside = ground & ((filled > z) | enclosed)
    number = np.zeros(z.shape, np.int32)
    count = number_hollows(inside, number, np.empty(z.size, np.int64))
    first, deepest = np.zeros(count, np.int64), np.zeros(count, np.int64)
    volume, cells = np.zeros(count, np.int64), np.zeros(count, np.int64)
    level, shut = np.zeros(count), np.zeros(count, np.bool_)
    measure_hollows(number, z, filled, enclosed, first, level, deepest, volume, cells, shut)
    return number, Hollows(first, level, deepest, volume, cells, shut)
