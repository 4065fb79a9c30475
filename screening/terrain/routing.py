"""From heights in memory to the way of the water: filled surface, directions, accumulation, hollows and cuts."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from screening.errors import BadInput, Fault
from screening.grid import OUTLET, VALID, Grid
from screening.sources import Window
from screening.terrain.finish import HollowParts, Layers, finish_tile
from screening.terrain.graph import solve
from screening.terrain.hollows import Hollows, merge_hollows
from screening.terrain.kernels.hollows import renumber
from screening.terrain.survey import survey_tile
from screening.terrain.threads import in_bands, in_tiles
from screening.terrain.tiles import Basins, Heights, Survey, Workspace

__all__ = ["Drainage", "KeepHollows", "Mode", "Routing", "drain", "route", "tile_windows"]

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
        depth: NDArray[Any] = self.natural - self.grid.values
        return depth

    @property
    def carved(self) -> NDArray[Any]:
        """How deep each cell was cut to let hollows drain, in height units; NaN at nodata."""
        cut: NDArray[Any] = np.maximum(self.grid.values - self.conditioned, 0)
        return cut


@dataclass(frozen=True)
class KeepHollows:
    """Which natural hollows are kept as real: they pond, and flow ends in their lowest cell.

    Parameters
    ----------
    depth_m
        Deeper than this. [m]
    area_m2
        Or larger than this; ground that walls enclose is kept for its depth only. [m2]
    """

    depth_m: float = math.inf
    area_m2: float = math.inf

    def choose(self, hollows: Hollows, cell_area_m2: float, height_factor: float) -> NDArray[np.bool_]:
        """Which rows of a table of hollows are kept."""
        large = (hollows.area_m2(cell_area_m2) > self.area_m2) & ~hollows.enclosed
        return (hollows.depth_m(height_factor) > self.depth_m) | large


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
    run = _Run.over(grid, tile, threads, surface, number)
    run.survey()
    parts, numbers, nodes = run.finish()
    hollows, final = merge_hollows([part for part in parts if part is not None], numbers, nodes)
    in_bands(lambda first, last: renumber(number, final, first, last), grid.shape[0], threads)
    filled, kept = run.layers.filled, np.zeros(len(hollows), np.bool_)
    conditioned = filled if surface is None else surface
    return Routing(
        grid, filled, run.layers.direction, run.layers.accumulation, mode, filled, number, hollows, kept, conditioned
    )


def drain(grid: Grid, *, tile: int = 512, threads: int = 2) -> Drainage:
    """As `route`, but only filled surface, direction and accumulation, which is the fastest."""
    run = _Run.over(grid, tile, threads, None, None)
    run.survey()
    run.finish()
    return Drainage(grid, run.layers.filled, run.layers.direction, run.layers.accumulation)


def tile_windows(shape: tuple[int, int], tile: int) -> list[Window]:
    """Windows of the tiles that cover a raster, row by row."""
    whole = range(0, shape[0], tile), range(0, shape[1], tile)
    return [Window(r, c, tile, tile).clipped(shape) for r in whole[0] for c in whole[1]]


@dataclass(eq=False)
class _Run:
    """One routing in memory.

    Between the two visits the ways of the cells wait in the array for directions and their labels in the array for
    filled heights, so that nothing more is held than the result.
    """

    grid: Grid
    tile: int
    threads: int
    windows: list[Window]
    layers: Layers
    surveys: list[tuple[Survey, Basins]]

    @classmethod
    def over(
        cls, grid: Grid, tile: int, threads: int, surface: NDArray[Any] | None, number: NDArray[np.int32] | None
    ) -> _Run:
        """Check the input and make room for the result."""
        if tile < 1 or threads < 1:
            raise ValueError(f"tile and threads must be at least 1, got {tile} and {threads}")
        if not np.isin(grid.state, (VALID, OUTLET)).any():
            raise BadInput([Fault("The elevation has no valid cell here", "Check its extent and its nodata value")])
        values = np.ascontiguousarray(grid.values)
        contiguous = Grid(values, grid.transform, np.ascontiguousarray(grid.state), grid.height_factor, grid.crs)
        layers = Layers(
            np.empty(grid.shape, values.dtype), np.empty(grid.shape, np.uint8), np.empty(grid.shape, np.int64),
            surface, number, 0, 0,
        )  # fmt: skip
        return cls(contiguous, tile, threads, tile_windows(grid.shape, tile), layers, [])

    def _workspace(self) -> Workspace:
        side = min(self.tile, self.grid.shape[0]), min(self.tile, self.grid.shape[1])
        return Workspace(side, (self.grid.cell_x_m, self.grid.cell_y_m), self.grid.values.dtype)

    def _labels(self, window: Window) -> NDArray[np.int32]:
        """Room for a tile's labels in the array for filled heights."""
        width = self.layers.filled.itemsize // 4
        rows, _ = window.slices
        labels: NDArray[np.int32] = self.layers.filled.view(np.int32)
        return labels[rows, width * window.column : width * window.column + window.columns]

    def _around(self, window: Window) -> Heights:
        return Heights(self.grid.values, self.grid.state, window.row, window.column)

    def survey(self) -> None:
        """Visit every tile a first time."""

        def visit(work: Workspace, number: int) -> tuple[Survey, Basins]:
            window = self.windows[number]
            found = survey_tile(work, self._around(window), window, self.grid.shape[1])
            self.layers.direction[window.slices] = work.views(window.rows, window.columns)[1]
            self._labels(window)[:] = work.label[: window.rows * window.columns].reshape(window.rows, -1)
            return found

        self.surveys = in_tiles(visit, len(self.windows), self.threads, self._workspace)

    def finish(self) -> tuple[list[HollowParts | None], int, int]:
        """Solve the graph, visit every tile again; return its hollows, how many numbers they use and the nodes."""
        solution = solve([survey for survey, _ in self.surveys], self.grid.shape, self.tile)
        basins = [found for _, found in self.surveys]
        self.surveys = []
        base = np.concatenate([[0], np.cumsum([found.sink.size - 1 for found in basins])])

        def visit(work: Workspace, number: int) -> HollowParts | None:
            window = self.windows[number]
            _, way, _ = work.views(window.rows, window.columns)
            way[:] = self.layers.direction[window.slices]
            work.label[: window.rows * window.columns].reshape(window.rows, -1)[:] = self._labels(window)
            return finish_tile(
                work, self._around(window), window, basins[number], solution.orders(number), self.layers.at(window),
                int(base[number]), self.grid.shape[1],
            )  # fmt: skip

        parts = in_tiles(visit, len(self.windows), self.threads, self._workspace)
        return parts, int(base[-1]) + 1, solution.level.size
