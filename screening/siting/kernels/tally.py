"""Count cells by lot."""

from __future__ import annotations

from typing import Any

from screening.jit import compiled

__all__ = ["tally_bits"]


@compiled
def tally_bits(lot: Any, bits: Any, closed: int, taken: Any, alone: Any, free: Any, label: Any) -> None:
    """Count the cells of each lot that carry each bit, those that no other bit closes, and those that none does.

    Parameters
    ----------
    lot, bits
        Cells, 2-D: int32 (-1 none), uint32.
    closed
        Bits that forbid digging, int.
    taken, alone
        Counts, int64, shape (lots, bits), added to in place.
    free
        Open cells of each lot, int64, added to in place.
    label
        Cells, int32: position and one of the lot whose open ground the cell is, 0 elsewhere.
    """
    rows, columns = lot.shape
    for row in range(rows):
        for column in range(columns):
            k = lot[row, column]
            rest = int(bits[row, column])
            label[row, column] = 0
            if k < 0:
                continue
            shut = rest & closed
            if shut == 0:
                free[k] += 1
                label[row, column] = k + 1
            bit = 0
            while rest > 0:
                if rest & 1:
                    taken[k, bit] += 1
                    if shut & ~(1 << bit) == 0:
                        alone[k, bit] += 1
                rest >>= 1
                bit += 1
