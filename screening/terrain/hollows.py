"""Natural hollows: the ground that would pond before its water could leave, one by one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["PARTS_PER_UNIT", "Hollows"]

PARTS_PER_UNIT: Final = 65536
"""Depths and volumes are counted in whole 1/65536 of a height unit, so that no order of adding changes them."""


@dataclass(frozen=True, eq=False)
class Hollows:
    """A table of hollows; row n - 1 is hollow number n, in the order of their first cells (row by row).

    Parameters
    ----------
    first_cell
        Linear index of the first cell, int64.
    level
        Height that water would stand at before it spills, float64, in height units.
    depth_parts
        Greatest depth below the level, int64, in 1/65536 of a height unit.
    volume_parts
        Depths of all cells added up, int64, in 1/65536 of a height unit x one cell.
    cells
        Number of cells, int64.
    enclosed
        True for ground with walls all round: its way out crosses the wall at its lowest ground.
    """

    first_cell: NDArray[np.int64]
    level: NDArray[np.float64]
    depth_parts: NDArray[np.int64]
    volume_parts: NDArray[np.int64]
    cells: NDArray[np.int64]
    enclosed: NDArray[np.bool_]

    def __len__(self) -> int:
        return int(self.first_cell.size)

    def depth_m(self, height_factor: float = 1.0) -> NDArray[np.float64]:
        """Greatest depth of each hollow [m]; ``height_factor`` is metres in a height unit."""
        return np.multiply(self.depth_parts, height_factor / PARTS_PER_UNIT)

    def area_m2(self, cell_area_m2: float) -> NDArray[np.float64]:
        """Area of each hollow [m2]."""
        return np.multiply(self.cells, cell_area_m2)

    def volume_m3(self, cell_area_m2: float, height_factor: float = 1.0) -> NDArray[np.float64]:
        """Volume of water that each hollow holds before it spills [m3]."""
        return np.multiply(self.volume_parts, cell_area_m2 * height_factor / PARTS_PER_UNIT)
