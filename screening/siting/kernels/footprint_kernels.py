"""What lies under a footprint, from the mask cells that it covers."""

from __future__ import annotations

from typing import Any

from screening.jit import compiled

__all__ = ["under_footprints"]


@compiled
def under_footprints(
    row: Any, column: Any, shape: Any, size: Any, cells: Any, first_cell: Any, cell_slope_pct: Any, cell_upslope: Any,
    bits: Any, slope_pct: Any, upslope: Any, look: Any,
) -> None:  # fmt: skip
    """Steepest slope, most upslope cells and constraints under footprints, written in place.

    Parameters
    ----------
    row, column, shape, size
        Mask cell of the centre, shape and number of the first size that is large enough.
    cells, first_cell
        Templates.
    cell_slope_pct, cell_upslope, bits
        Elevation cells, and constraints on mask cells.
    slope_pct, upslope, look
        Results: [%], [cells], bits.
    """
    rows, columns = bits.shape
    for i in range(row.shape[0]):
        steepest = cell_slope_pct[row[i] // 2, column[i] // 2]
        most = cell_upslope[row[i] // 2, column[i] // 2]
        seen = bits[row[i], column[i]]
        for k in range(first_cell[shape[i], 0], first_cell[shape[i], size[i] + 1]):
            r = row[i] + cells[k, 0]
            c = column[i] + cells[k, 1]
            if r < 0 or c < 0 or r >= rows or c >= columns:
                continue
            steepest = max(steepest, cell_slope_pct[r // 2, c // 2])
            most = max(most, cell_upslope[r // 2, c // 2])
            seen |= bits[r, c]
        slope_pct[i] = steepest
        upslope[i] = most
        look[i] = seen
