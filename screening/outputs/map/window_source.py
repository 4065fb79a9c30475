"""Part of a raster, as a raster of its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS

from screening.sources import RasterSource, Window

__all__ = ["WindowSource", "window_around"]


@dataclass(frozen=True)
class WindowSource:
    """A window of a raster; reads no more than it is asked for."""

    source: RasterSource
    window: Window

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.window.rows, self.window.columns

    @property
    def transform(self) -> Affine:
        """From (column, row) to (x, y) [m]."""
        whole = self.source.transform
        return Affine(
            whole.a, 0.0, whole.c + self.window.column * whole.a, 0.0, whole.e, whole.f + self.window.row * whole.e
        )

    @property
    def dtype(self) -> np.dtype[Any]:
        """Type of the values."""
        return self.source.dtype

    @property
    def crs(self) -> CRS | None:
        """The working CRS."""
        return self.source.crs

    def read(self, window: Window | None = None) -> NDArray[Any]:
        """Values of a window of the window (the whole when None)."""
        own = window or Window(0, 0, *self.shape)
        return self.source.read(
            Window(self.window.row + own.row, self.window.column + own.column, own.rows, own.columns)
        )


def window_around(source: RasterSource, bounds_m: tuple[float, float, float, float], margin_m: float) -> Window:
    """The window of a raster that covers a box and a margin around it, as far as the raster goes.

    Parameters
    ----------
    source
        The raster.
    bounds_m
        West, south, east, north. [m]
    margin_m
        Margin around the box. [m]
    """
    west, south, east, north = bounds_m
    cells = source.transform
    first_column = int(np.floor((west - margin_m - cells.c) / cells.a))
    last_column = int(np.ceil((east + margin_m - cells.c) / cells.a))
    first_row = int(np.floor((north + margin_m - cells.f) / cells.e))
    last_row = int(np.ceil((south - margin_m - cells.f) / cells.e))
    return Window(first_row, first_column, last_row - first_row, last_column - first_column).clipped(source.shape)
