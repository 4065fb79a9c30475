"""Routing of a grid in memory, tile by tile on threads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.errors import BadInput, Fault
from screening.grid import Grid
from screening.sources import Window
from screening.terrain.finish import HollowParts, Layers, finish_tile
from screening.terrain.graph import solve
from screening.terrain.survey import survey_tile
from screening.terrain.threads import crew
from screening.terrain.tiles import Basins, Heights, Orders, Survey, Workspace, tile_windows

__all__ = ["MemoryRun"]


@dataclass(eq=False)
class MemoryRun:
    """One routing in memory.

    Between the two visits the ways of the cells wait in the array for directions and their labels in the array for
    filled heights, so that nothing more is held than the result.
    """

    grid: Grid
    tile: int
    threads: int
    windows: list[Window]
    layers: Layers

    @classmethod
    def over(
        cls, grid: Grid, tile: int, threads: int, surface: NDArray[Any] | None, number: NDArray[np.int32] | None
    ) -> MemoryRun:
        """Check the input and make room for the result."""
        if tile < 1 or threads < 1:
            raise ValueError(f"tile and threads must be at least 1, got {tile} and {threads}")
        values = np.ascontiguousarray(grid.values)
        contiguous = Grid(values, grid.transform, np.ascontiguousarray(grid.state), grid.height_factor, grid.crs)
        layers = Layers(
            np.empty(grid.shape, values.dtype), np.empty(grid.shape, np.uint8), np.empty(grid.shape, np.int64),
            surface, number, 0, 0,
        )  # fmt: skip
        return cls(contiguous, tile, threads, tile_windows(grid.shape, tile), layers)

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

    def go(self) -> tuple[list[HollowParts | None], int, int]:
        """Visit every tile twice; return its hollows, how many preliminary numbers they use and the nodes."""
        with crew(self.threads, self._workspace) as hands:
            found = hands.map(self._survey, len(self.windows))
            if not any(survey.ground for survey, _ in found):
                raise BadInput([Fault("The elevation has no valid cell", "Check its extent and its nodata value")])
            solution = solve([survey for survey, _ in found], self.grid.shape, self.tile)
            basins = [one for _, one in found]
            del found
            base = np.concatenate([[0], np.cumsum([one.sink.size - 1 for one in basins])])

            def finish(work: Workspace, number: int) -> HollowParts | None:
                return self._finish(work, number, basins[number], solution.orders(number), int(base[number]))

            parts = hands.map(finish, len(self.windows))
        return parts, int(base[-1]) + 1, solution.level.size

    def _survey(self, work: Workspace, number: int) -> tuple[Survey, Basins]:
        """Visit a tile for the first time."""
        window = self.windows[number]
        found = survey_tile(work, self._around(window), window, self.grid.shape[1])
        self.layers.direction[window.slices] = work.views(window.rows, window.columns)[1]
        self._labels(window)[:] = work.label[: window.rows * window.columns].reshape(window.rows, -1)
        return found

    def _finish(self, work: Workspace, number: int, basins: Basins, orders: Orders, base: int) -> HollowParts | None:
        """Visit a tile for the second time."""
        window = self.windows[number]
        _, way, _ = work.views(window.rows, window.columns)
        way[:] = self.layers.direction[window.slices]
        work.label[: window.rows * window.columns].reshape(window.rows, -1)[:] = self._labels(window)
        around, layers = self._around(window), self.layers.at(window)
        return finish_tile(work, around, window, basins, orders, layers, base, self.grid.shape[1])
