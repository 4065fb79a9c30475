"""Grids by window: what routing in tiles reads, so that a raster larger than memory never is in it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Protocol

import numpy as np
from affine import Affine
from numpy.typing import NDArray

from screening.grid import NODATA, OUTLET, Grid
from screening.sources import RasterSource, Window

__all__ = ["GridSource", "MemoryGrid", "RasterGrid", "WithCuts", "WithOutlets"]


class GridSource(Protocol):
    """Something that heights and cell states can be read from, window by window, from any thread or process."""

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        ...

    @property
    def transform(self) -> Affine:
        """From (column, row) to (x, y) [m]."""
        ...

    def read(self, window: Window) -> Grid:
        """The grid of a window inside the raster; always of the same dtype."""
        ...


def _shifted(transform: Affine, window: Window) -> Affine:
    return transform @ Affine.translation(window.column, window.row)


@dataclass(frozen=True, eq=False)
class MemoryGrid:
    """A grid in memory, read by window."""

    grid: Grid

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.grid.shape

    @property
    def transform(self) -> Affine:
        """From (column, row) to (x, y) [m]."""
        return self.grid.transform

    def read(self, window: Window) -> Grid:
        """The grid of a window, without a copy."""
        part, grid = window.slices, self.grid
        return Grid(grid.values[part], _shifted(grid.transform, window), grid.state[part], grid.height_factor, grid.crs)


@dataclass(frozen=True, eq=False)
class RasterGrid:
    """A grid read from an elevation raster and, where there is one, a raster of cell states.

    Parameters
    ----------
    elevation
        Heights; NaN, infinite and ``nodata`` are missing.
    states
        VALID, WALL, OUTLET or NODATA for each cell, uint8, on the same cells; all valid when None.
    nodata
        Value that marks missing heights, where the source does not turn it into NaN itself.
    height_factor
        Metres in one unit of height. [m]
    """

    elevation: RasterSource
    states: RasterSource | None = None
    nodata: float | None = None
    height_factor: float = 1.0

    def __post_init__(self) -> None:
        if self.states is not None and self.states.shape != self.elevation.shape:
            raise ValueError(f"states must have the shape of elevation {self.elevation.shape}, got {self.states.shape}")

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.elevation.shape

    @property
    def transform(self) -> Affine:
        """From (column, row) to (x, y) [m]."""
        return self.elevation.transform

    def read(self, window: Window) -> Grid:
        """Read the grid of a window."""
        values = self.elevation.read(window)
        transform = _shifted(self.transform, window)
        grid = Grid.from_array(values, transform, nodata=self.nodata, height_factor=self.height_factor)
        if self.states is None:
            return grid
        state = np.where(grid.state == NODATA, NODATA, self.states.read(window)).astype(np.uint8)
        return replace(grid, state=state, values=np.where(state == NODATA, np.nan, grid.values))


def _inside(cells: NDArray[np.int64], window: Window, columns: int) -> NDArray[np.int64]:
    """Places of the cells (rising linear indices) that lie in a window."""
    first, last = np.searchsorted(cells, (window.row * columns, (window.row + window.rows) * columns))
    places = np.arange(first, last)
    column = cells[first:last] % columns
    return places[(column >= window.column) & (column < window.column + window.columns)]


@dataclass(frozen=True, eq=False)
class _Over:
    """A grid source laid over another one."""

    source: GridSource

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.source.shape

    @property
    def transform(self) -> Affine:
        """From (column, row) to (x, y) [m]."""
        return self.source.transform


@dataclass(frozen=True, eq=False)
class WithOutlets(_Over):
    """Another grid source, with some cells made outlets.

    Parameters
    ----------
    source
        The grid.
    cells
        Linear indices of the outlets, rising; those without a height stay nodata.
    """

    cells: NDArray[np.int64]

    def read(self, window: Window) -> Grid:
        """The grid of a window."""
        grid, columns = self.source.read(window), self.shape[1]
        cells = self.cells[_inside(self.cells, window, columns)]
        if not cells.size:
            return grid
        state = np.array(grid.state)
        place = cells // columns - window.row, cells % columns - window.column
        state[place] = np.where(state[place] == NODATA, NODATA, OUTLET)
        return replace(grid, state=state)


@dataclass(frozen=True, eq=False)
class WithCuts(_Over):
    """Another grid source, with some cells cut to given heights, as by culverts.

    Parameters
    ----------
    source
        The grid.
    cells
        Linear indices of the cells, rising.
    heights
        Height of each; a cell is lowered to it and never raised.
    """

    cells: NDArray[np.int64]
    heights: NDArray[np.float64]

    def read(self, window: Window) -> Grid:
        """The grid of a window."""
        grid, columns = self.source.read(window), self.shape[1]
        places = _inside(self.cells, window, columns)
        if not places.size:
            return grid
        values: NDArray[Any] = np.array(grid.values)
        row, column = self.cells[places] // columns - window.row, self.cells[places] % columns - window.column
        values[row, column] = np.minimum(values[row, column], self.heights[places].astype(values.dtype))
        return replace(grid, values=values)
