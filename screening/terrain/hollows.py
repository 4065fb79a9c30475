"""Natural hollows: the ground that would pond before its water could leave, one by one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from screening.terrain.finish import HollowParts
from screening.terrain.kernels.hollows import gather_hollows, join_hollows

__all__ = ["PARTS_PER_UNIT", "Hollows", "KeepHollows", "merge_hollows"]

PARTS_PER_UNIT: Final = 65536
"""Depths and volumes are counted in whole 1/65536 of a height unit, so that no order of adding changes them."""


@dataclass(frozen=True, eq=False)
class Hollows:
    """A table of hollows; row n - 1 is hollow number n, in the order of their first cells (row by row).

    Parameters
    ----------
    first_cell
        Linear index (row x columns + column) of the first cell, int64.
    lowest_cell
        Linear index of the lowest cell, the first of them when several are, int64.
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
    lowest_cell: NDArray[np.int64]
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


def merge_hollows(parts: Sequence[HollowParts], nodes: int) -> tuple[Hollows, NDArray[np.int64], NDArray[np.int32]]:
    """Join the hollows of all tiles into one table.

    Parameters
    ----------
    parts
        One for each tile, in the order of their numbers.
    nodes
        How many nodes the graph has.

    Returns
    -------
    hollows
        The table.
    numbers, final
        The preliminary numbers there are, rising, and the final number of each.
    """
    numbers = np.concatenate([part.number for part in parts])
    totals = np.concatenate([part.totals for part in parts], axis=1)
    bottom = np.concatenate([part.bottom for part in parts]).astype(np.float64)
    level = np.concatenate([part.level for part in parts]).astype(np.float64)
    enclosed = np.concatenate([part.enclosed for part in parts])
    out, into = np.full(nodes, -1, np.int64), np.full(nodes, -1, np.int64)
    for part in parts:
        out[part.out_node], into[part.in_node] = part.out_number, part.in_number
    linked = np.flatnonzero(out >= 0)
    parent = np.arange(numbers.size)
    join_hollows(np.searchsorted(numbers, out[linked]), np.searchsorted(numbers, into[linked]), parent)
    gather_hollows(parent, totals, bottom, level, enclosed)
    roots = np.flatnonzero(parent == np.arange(numbers.size))
    roots = roots[np.argsort(totals[0, roots])]
    final = np.zeros(numbers.size, np.int32)
    final[roots] = np.arange(1, roots.size + 1)
    first, lowest, deepest, volume, cells = totals[:, roots]
    return Hollows(first, lowest, level[roots], deepest, volume, cells, enclosed[roots]), numbers, final[parent]
