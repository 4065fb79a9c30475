"""Which cells are open."""

from __future__ import annotations

from typing import Any

from screening.jit import compiled

__all__ = ["find_open"]


@compiled
def find_open(lot: Any, bits: Any, closed: int, out: Any) -> None:
    """Tell which cells belong to a lot and carry no bit that forbids digging.

    Parameters
    ----------
    lot, bits
        Cells, 2-D: int32 (-1 none), uint32.
    closed
        Bits that forbid digging.
    out
        Cells, bool, written.
    """
    rows, columns = lot.shape
    for row in range(rows):
        for column in range(columns):
            out[row, column] = lot[row, column] >= 0 and (int(bits[row, column]) & closed) == 0
