"""Direction codes: E 1, SE 2, S 4, SW 8, W 16, NW 32, N 64, NE 128, and the two that are no direction."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["CODE_OF_WAY", "COLUMN_STEP", "DRAINS_OUT", "NO_FLOW", "ROW_STEP", "linear_steps", "step_number"]

DRAINS_OUT: Final = 0
"""Code of a cell where water leaves: an outlet, or a hollow kept as real."""
NO_FLOW: Final = 255
"""Code of a cell that water neither runs to nor from: nodata, and walls off the way out of enclosed ground."""

ROW_STEP: Final[NDArray[np.int64]] = np.array([0, 1, 1, 1, 0, -1, -1, -1])
"""Rows to the neighbour in direction number 0..7; the code is 2 to the power of the number."""
COLUMN_STEP: Final[NDArray[np.int64]] = np.array([1, 1, 0, -1, -1, -1, 0, 1])
"""Columns to the neighbour in direction number 0..7."""

CODE_OF_WAY: Final[NDArray[np.uint8]] = np.zeros(32, np.uint8)
"""Code of each way inside the routing: 0..7 and 16..23 (the same, out of the tile) are directions, others drain out."""
CODE_OF_WAY[:8] = CODE_OF_WAY[16:24] = 1 << np.arange(8)


def linear_steps(columns: int) -> NDArray[np.int64]:
    """Change of linear index for each code, on a raster of so many columns; 0 where a code is no direction."""
    steps = np.zeros(256, np.int64)
    steps[1 << np.arange(8)] = ROW_STEP * columns + COLUMN_STEP
    return steps


def step_number(code: int) -> int:
    """Return the direction number 0..7 of a code, -1 where it is no direction."""
    return code.bit_length() - 1 if code not in (DRAINS_OUT, NO_FLOW) else -1
