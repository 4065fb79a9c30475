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
        column = 0
        while column < columns:
            k = lot[row, column]
            carried = bits[row, column]
            first = column
            while column < columns and lot[row, column] == k and bits[row, column] == carried:
                column += 1
            count = column - first  # cells alike are counted together
            rest = int(carried)
            shut = rest & closed
            is_open = k >= 0 and shut == 0
            for i in range(first, column):
                label[row, i] = k + 1 if is_open else 0
            if is_open:
                free[k] += count
            bit = 0
            while rest > 0 and k >= 0:
                if rest & 1:
                    taken[k, bit] += count
                    if shut & ~(1 << bit) == 0:
                        alone[k, bit] += count
                rest >>= 1
                bit += 1
