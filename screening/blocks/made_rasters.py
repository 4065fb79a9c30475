"""Rasters that are worked out where they are read, so that the whole of them never is in memory."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final
from weakref import WeakValueDictionary

import numpy as np
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS

from screening.grid import Grid
from screening.sources import RasterSource, Window
from screening.terrain import gradient_at_scale, steepness_pct
from screening.terrain.slope import half_window_cells

__all__ = ["SLOPES", "MadeSource", "slope_sources"]

SLOPES: Final = ("dz_dx", "dz_dy", "slope_pct")
"""Rise to the east and to the north [m/m], and the slope [%]."""

_ROWS: Final = 128
"""Rows worked on at a time: they stay in the processor's cache."""


@dataclass(frozen=True, eq=False)
class MadeSource:
    """A raster made window by window.

    Parameters
    ----------
    shape, transform, dtype, crs
        The raster.
    make
        Values of a window inside the raster, from any thread; the same for a cell in any window.
    """

    shape: tuple[int, int]
    transform: Affine
    dtype: np.dtype[Any]
    crs: CRS | None
    make: Callable[[Window], NDArray[Any]]

    @classmethod
    def on(cls, grid: Grid, dtype: np.dtype[Any], make: Callable[[Window], NDArray[Any]]) -> MadeSource:
        """A raster on the cells of a grid."""
        return cls(grid.shape, grid.transform, dtype, grid.crs, make)

    def read(self, window: Window | None = None) -> NDArray[Any]:
        """Values of a window (the whole when None)."""
        return self.make(window or Window(0, 0, *self.shape))


class _Slopes:
    """Slopes of windows, all three worked out together; whoever holds one of a window holds them all."""

    def __init__(self, grid: Grid, scale_m: float) -> None:
        self._grid, self._scale_m = grid, scale_m
        self._halo = half_window_cells(scale_m, grid.cell_y_m), half_window_cells(scale_m, grid.cell_x_m)
        self._held: WeakValueDictionary[Window, NDArray[np.float64]] = WeakValueDictionary()

    def of(self, number: int, window: Window) -> NDArray[np.float64]:
        """One of ``SLOPES`` in a window."""
        found = self._held.get(window)
        if found is None:
            found = self._held[window] = self._made(window)
        one: NDArray[np.float64] = found[number]
        return one

    def _made(self, window: Window) -> NDArray[np.float64]:
        found = np.empty((len(SLOPES), window.rows, window.columns))
        for first in range(0, window.rows, _ROWS):
            rows = min(_ROWS, window.rows - first)
            dz_dx, dz_dy = self._gradient(Window(window.row + first, window.column, rows, window.columns))
            band = found[:, first : first + rows]
            band[0], band[1], band[2] = dz_dx, dz_dy, steepness_pct(dz_dx, dz_dy)
        return found

    def _gradient(self, window: Window) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Gradient of a window, from as many cells round it as its planes need."""
        high, wide = self._halo
        around = Window(
            window.row - high, window.column - wide, window.rows + 2 * high, window.columns + 2 * wide
        ).clipped(self._grid.shape)
        grid, part = self._grid, around.slices
        values, state = np.ascontiguousarray(grid.values[part]), grid.state[part]
        ground = Grid(values, grid.transform, state, grid.height_factor, grid.crs)
        own = Window(window.row - around.row, window.column - around.column, window.rows, window.columns).slices
        dz_dx, dz_dy = gradient_at_scale(ground, self._scale_m, threads=1)
        return dz_dx[own], dz_dy[own]


def slope_sources(grid: Grid, scale_m: float) -> dict[str, RasterSource]:
    """``SLOPES`` of a grid at a scale, walls counting with their own height.

    Parameters
    ----------
    grid
        Heights; their height factor is applied.
    scale_m
        Width of the planes' window, as for ``gradient_at_scale``. [m]
    """
    slopes = _Slopes(grid, scale_m)

    def source(number: int) -> MadeSource:
        return MadeSource.on(grid, np.dtype(np.float64), lambda window: slopes.of(number, window))

    return {name: source(number) for number, name in enumerate(SLOPES)}
