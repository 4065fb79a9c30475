"""Count cells by lot."""

from __future__ import annotations

from typing import Any

from screening.jit import compiled

__all__ = ["tally_bits"]


@compiled
def tally_bits(lot: Any, bits: Any, closed: Any, taken: Any, alone: Any) -> None:
    """Count the cells of each lot that carry each bit, and those that no other bit closes.

    Parameters
    ----------
    lot, bits
        Cells, 2-D: int32 (-1 none), uint32.
    closed
        Bits that forbid digging, int.
    taken, alone
        Counts, int64, shape (lots, bits), added to in place.
    """
    rows, columns = lot.shape
    for row in range(rows):
        for column in range(columns):
            k = lot[row, column]
            rest = int(bits[row, column])
            if k < 0 or rest == 0:
                continue
            shut = rest & closed
            for bit in range(taken.shape[1]):
                if (rest >> bit) & 1:
                    taken[k, bit] += 1
                    if shut & ~(1 << bit) == 0:
                        alone[k, bit] += 1
