"""Count the soils under each lot."""

from __future__ import annotations

from typing import Any

from screening.jit import compiled

__all__ = ["tally_soils"]


@compiled
def tally_soils(lot: Any, counted: Any, unit: Any, kind: Any, wanted: Any, cells: Any) -> None:
    """Count the cells of each lot by the kind of their soil.

    Parameters
    ----------
    lot, unit
        Cells, 2-D, int32: position of the lot (-1 none), position of the map unit (-1 none).
    counted
        Cells, 2-D, bool: which to count.
    kind
        Kind of each unit, int64; the last is that of ground without a unit.
    wanted
        Lots to count, bool.
    cells
        Counts, int64, shape (lots, kinds), added to in place.
    """
    rows, columns = lot.shape
    none = kind.size - 1
    for row in range(rows):
        for column in range(columns):
            k = lot[row, column]
            if k < 0 or not wanted[k] or not counted[row, column]:
                continue
            u = unit[row, column]
            cells[k, kind[u if u >= 0 else none]] += 1
