"""``GroundMask``: which lot each mask cell belongs to and what forbids digging there, as bits.

Made once a block by ``siting.open_ground``, read by the search for candidates. Mask cells are half the elevation cell
in each direction, and lie on the block's window.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
from affine import Affine
from numpy.typing import NDArray

from screening.siting.kernels.open_cells import find_open

__all__ = ["Constraint", "GroundMask"]


@dataclass(frozen=True)
class Constraint:
    """One thing that takes ground, and its bit."""

    name: str
    """What took the ground, in people's words: ``house``, ``side line``, ``tree, trunk known``, ..."""
    bit: int
    """Its bit in ``GroundMask.bits``, 0 to 31."""
    effect: str
    """``no digging``, or ``look closer``: digging may be possible, and somebody must look."""


@dataclass(frozen=True, eq=False)
class GroundMask:
    """Lots and constraints on the mask cells of a block.

    Parameters
    ----------
    transform
        Of the mask cells.
    lot
        Position of the lot in ``block.lots``, -1 where there is none of the block's, int32, shape (rows, columns).
    bits
        Constraints that hold at the cell's centre, uint32, shape (rows, columns); bit k belongs to ``constraints[k]``.
    constraints
        The constraints in order of their bits.
    obstacles
        The same in vectors, for the exact check: one row for each lot and thing in its way, columns ``lot``
        (position), ``constraint`` (name), ``effect``, ``clearance_m`` (from the geometry to the outer edge of the berm
        ring), ``detail`` (name or sentence, empty when there is none), ``bit``, ``thing`` (the same for one geometry
        on many lots) and geometry. A footprint is clear of a row when it is no nearer to the geometry than the
        clearance.
    """

    transform: Affine
    lot: NDArray[np.int32]
    bits: NDArray[np.uint32]
    constraints: Sequence[Constraint]
    obstacles: gpd.GeoDataFrame

    def closed_bits(self) -> np.uint32:
        """Every bit that forbids digging."""
        total = 0
        for constraint in self.constraints:
            if constraint.effect == "no digging":
                total |= 1 << constraint.bit
        return np.uint32(total)

    def open_cells(self) -> NDArray[Any]:
        """True where digging is allowed."""
        allowed = np.empty(self.lot.shape, dtype=np.bool_)
        find_open(self.lot, self.bits, int(self.closed_bits()), allowed)
        return allowed
