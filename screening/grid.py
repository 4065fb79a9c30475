"""``Grid``: heights, where they lie, their unit and the state of every cell, travelling together."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS

__all__ = ["NODATA", "OUTLET", "VALID", "WALL", "Grid"]

VALID: Final = 0
"""A cell of ground that water crosses."""
WALL: Final = 1
"""A cell that water goes round (a roof): it has a height for slope, and takes no part in routing."""
OUTLET: Final = 2
"""A cell of ground where water leaves the surface: an inlet, a stream, a pond."""
NODATA: Final = 3
"""A cell without a height; ground beside it drains into it."""


@dataclass(frozen=True, eq=False)
class Grid:
    """A raster of heights on a metric, north-up grid; immutable.

    Parameters
    ----------
    values
        Heights, shape (rows, columns), float32 or float64, in the raster's own vertical unit. NaN where state is
        NODATA.
    transform
        From (column, row) to (x, y) in metres: no rotation, rows run south.
    state
        VALID, WALL, OUTLET or NODATA for each cell, uint8, shape (rows, columns).
    height_factor
        Metres in one unit of ``values`` [m]. Routing runs on ``values``; only slope, fall and volume use this.
    crs
        The working CRS (metre).
    """

    values: NDArray[Any]
    transform: Affine
    state: NDArray[np.uint8]
    height_factor: float = 1.0
    crs: CRS | None = None

    def __post_init__(self) -> None:
        if self.values.ndim != 2 or self.values.shape != self.state.shape:
            raise ValueError(
                f"values and state must be 2-D of one shape, got {self.values.shape} and {self.state.shape}"
            )
        if self.values.dtype not in (np.dtype("float32"), np.dtype("float64")):
            raise ValueError(f"values must be float32 or float64, got {self.values.dtype}")
        if self.state.dtype != np.uint8:
            raise ValueError(f"state must be uint8, got {self.state.dtype}")
        if self.transform.b or self.transform.d or self.transform.a <= 0 or self.transform.e >= 0:
            raise ValueError(f"transform must be north-up without rotation, got {tuple(self.transform)[:6]}")
        for array in (self.values, self.state):
            if array.flags.owndata or array.base is None:
                array.flags.writeable = False

    @classmethod
    def from_array(
        cls,
        values: NDArray[Any],
        transform: Affine,
        *,
        nodata: float | None = None,
        height_factor: float = 1.0,
        crs: CRS | None = None,
    ) -> Grid:
        """Make a grid from heights as they come.

        Integers are read into float32 (int16, uint16 and smaller) or float64; cells equal to ``nodata``, NaN or
        infinite become NODATA.
        """
        wide = np.issubdtype(values.dtype, np.integer) and values.dtype.itemsize > 2
        dtype = np.dtype("float64") if wide or values.dtype == np.float64 else np.dtype("float32")
        heights = np.array(values, dtype=dtype)
        missing = ~np.isfinite(heights)
        if nodata is not None and np.isfinite(nodata):
            missing |= values == np.asarray(nodata).astype(values.dtype)
        heights[missing] = np.nan
        state = np.where(missing, np.uint8(NODATA), np.uint8(VALID))
        return cls(heights, transform, state, height_factor, crs)

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.values.shape[0], self.values.shape[1]

    @property
    def cell_x_m(self) -> float:
        """Width of a cell [m]."""
        return float(self.transform.a)

    @property
    def cell_y_m(self) -> float:
        """Height of a cell [m]."""
        return float(-self.transform.e)

    @property
    def cell_area_m2(self) -> float:
        """Area of a cell [m2]."""
        return self.cell_x_m * self.cell_y_m

    @property
    def bounds_m(self) -> tuple[float, float, float, float]:
        """West, south, east, north [m]."""
        rows, columns = self.shape
        west, north = self.transform.c, self.transform.f
        return west, north + rows * self.transform.e, west + columns * self.transform.a, north

    @property
    def valid(self) -> NDArray[np.bool_]:
        """True where there is a height."""
        return np.not_equal(self.state, NODATA)

    def with_state(self, state: NDArray[np.uint8]) -> Grid:
        """Return the same heights with other cell states."""
        return replace(self, state=np.array(state, dtype=np.uint8))

    def heights_m(self) -> NDArray[Any]:
        """Heights in metres, NaN where there is none; ``values`` themselves where they are metres."""
        if self.height_factor == 1.0:
            return self.values
        heights: NDArray[Any] = self.values * self.values.dtype.type(self.height_factor)
        return heights

    def row_column(
        self, x_m: NDArray[np.float64], y_m: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Fractional row and column of points; a cell's centre lies at whole numbers plus one half."""
        rows = (np.asarray(y_m) - self.transform.f) / self.transform.e
        columns = (np.asarray(x_m) - self.transform.c) / self.transform.a
        return rows, columns
