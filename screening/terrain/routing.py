"""From heights in memory to the way of the water: filled surface, directions, accumulation, hollows and cuts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from screening.grid import OUTLET, Grid
from screening.terrain.hollows import Hollows, KeepHollows, merge_hollows
from screening.terrain.in_memory import MemoryRun
from screening.terrain.kernels.hollows import renumber
from screening.terrain.threads import in_bands

__all__ = ["Drainage", "Mode", "Routing", "depth_below", "depth_cut", "drain", "route"]

Mode = Literal["carve", "fill"]


@dataclass(frozen=True, eq=False)
class Drainage:
    """Where water runs over a grid. All arrays have the grid's shape; heights are in the grid's own unit.

    Parameters
    ----------
    grid
        What was routed.
    filled
        Lowest surface on which every cell drains: the level of a hollow where one is, else the height. Walls keep
        their height, nodata is NaN.
    direction
        D8 codes, uint8: E 1, SE 2, S 4, SW 8, W 16, NW 32, N 64, NE 128; 0 where water leaves; 255 at nodata and at
        walls off the way out of enclosed ground.
    accumulation
        Ground cells that drain through a cell, itself counted, int64; 0 at nodata and dry walls. Walls add nothing.
    """

    grid: Grid
    filled: NDArray[Any]
    direction: NDArray[np.uint8]
    accumulation: NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Routing(Drainage):
    """Where water runs, with the natural hollows and the cuts that let them drain.

    Parameters
    ----------
    mode
        ``"carve"`` or ``"fill"``: how ``conditioned`` was made.
    natural
        Filled surface before any hollow was kept as real; the same as ``filled`` when none was.
    hollow_id
        Number of the natural hollow, int32, 0 outside.
    hollows
        The table of natural hollows.
    kept
        Which hollows were kept as real: their water ends in their lowest cell. One for each row of the table.
    conditioned
        Surface on which water never runs uphill along ``direction``: each cell of ground as low as the lowest that
        drains through it when carving, ``filled`` itself when filling. Walls keep their height, nodata is NaN.
    """

    mode: Mode
    natural: NDArray[Any]
    hollow_id: NDArray[np.int32]
    hollows: Hollows
    kept: NDArray[np.bool_]
    conditioned: NDArray[Any]

    @property
    def hollow_depth(self) -> NDArray[Any]:
        """Depth below the level of the natural hollow, in height units; 0 outside and at walls, NaN at nodata."""
        return depth_below(self.natural, self.grid.values)

    @property
    def carved(self) -> NDArray[Any]:
        """How deep each cell was cut to let hollows drain, in height units; NaN at nodata."""
        return depth_cut(self.grid.values, self.conditioned)


def depth_below(level: NDArray[Any], ground: NDArray[Any]) -> NDArray[Any]:
    """Depth of ground below the level of its hollow, in height units; NaN at nodata."""
    depth: NDArray[Any] = level - ground
    return depth


def depth_cut(ground: NDArray[Any], conditioned: NDArray[Any]) -> NDArray[Any]:
    """How deep ground was cut, in height units; 0 where it was raised, NaN at nodata."""
    cut: NDArray[Any] = ground - conditioned
    np.maximum(cut, 0, out=cut)
    return cut


def route(
    grid: Grid, *, mode: Mode = "carve", keep: KeepHollows | None = None, tile: int = 512, threads: int = 2
) -> Routing:
    """Route water over a grid: every cell of ground drains to an outlet along one unique tree.

    Outlets are the raster's rim, cells beside nodata, and cells in state OUTLET. Walls take no part, but where ground
    has walls all round its way out crosses the wall at its lowest ground. The result is the same, bit for bit,
    whatever ``tile`` and ``threads``.

    Parameters
    ----------
    grid
        Heights and cell states.
    mode
        ``"carve"`` cuts the least path out of each hollow; ``"fill"`` raises the hollow to its spill. Directions are
        the same.
    keep
        Hollows that are real; none when None.
    tile
        Side of the tiles worked on. [cells]
    threads
        How many threads share the tiles.

    Raises
    ------
    BadInput
        When no cell of the grid is ground.
    """
    if mode not in ("carve", "fill"):
        raise ValueError(f"mode must be 'carve' or 'fill', got {mode!r}")
    first = _route_once(grid, mode, tile, threads)
    if keep is None:
        return first
    kept = keep.choose(first.hollows, grid.cell_area_m2, grid.height_factor)
    if not kept.any():
        return first
    state = np.array(grid.state)
    state.reshape(-1)[first.hollows.lowest_cell[kept]] = OUTLET
    again = _route_once(grid.with_state(state), mode, tile, threads)
    return replace(again, grid=grid, natural=first.filled, hollow_id=first.hollow_id, hollows=first.hollows, kept=kept)


def _route_once(grid: Grid, mode: Mode, tile: int, threads: int) -> Routing:
    """Route with every hollow opened."""
    surface = np.empty(grid.shape, grid.values.dtype) if mode == "carve" else None
    number = np.empty(grid.shape, np.int32)
    run = MemoryRun.over(grid, tile, threads, surface, number)
    parts, numbers, nodes = run.go()
    hollows, present, final_present = merge_hollows([part for part in parts if part is not None], nodes)
    final = np.zeros(numbers, np.int32)
    final[present] = final_present
    in_bands(lambda first, last: renumber(number, final, first, last), grid.shape[0], threads)
    filled, kept = run.layers.filled, np.zeros(len(hollows), np.bool_)
    conditioned = filled if surface is None else surface
    return Routing(
        grid, filled, run.layers.direction, run.layers.accumulation, mode, filled, number, hollows, kept, conditioned
    )


def drain(grid: Grid, *, tile: int = 512, threads: int = 2, out: Drainage | None = None) -> Drainage:
    """As `route`, but only filled surface, direction and accumulation, which is the fastest.

    Parameters
    ----------
    grid, tile, threads
        As for `route`.
    out
        An earlier result of the same shape and dtype whose arrays are written to again: fresh memory can take longer
        to touch than all the rest.
    """
    run = MemoryRun.over(grid, tile, threads, None, None)
    if out is not None:
        run.layers = run.layers.in_place_of(out.filled, out.direction, out.accumulation)
    run.go()
    return Drainage(grid, run.layers.filled, run.layers.direction, run.layers.accumulation)
