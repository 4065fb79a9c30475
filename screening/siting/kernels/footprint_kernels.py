"""What lies under a footprint, from the mask cells that it covers."""

from __future__ import annotations

from typing import Any

from screening.jit import compiled

__all__ = ["under_footprints"]


@compiled
def under_footprints(
    row: Any, column: Any, shape: Any, size: Any, world: Any, slope_pct: Any, upslope: Any, look: Any
) -> None:
    """Steepest slope, most upslope cells and constraints to look at under footprints; written in place.

    Parameters
    ----------
    row, column, shape, size
        Mask cell of the centre, shape and number of the first size that is large enough.
    slope_pct, upslope, look
        Results. [%], [cells], bits
    """
    shapes = world.shapes
    rows, columns = world.mask.lot.shape
    for i in range(row.shape[0]):
        steepest = world.ground.slope_pct[row[i] // 2, column[i] // 2]
        most = world.ground.upslope[row[i] // 2, column[i] // 2]
        bits = world.mask.bits[row[i], column[i]]
        for k in range(shapes.first[shape[i]], shapes.first[shape[i] + 1]):
            if shapes.size[k] > size[i]:
                break
            r = row[i] + shapes.rows[k]
            c = column[i] + shapes.columns[k]
            if r < 0 or c < 0 or r >= rows or c >= columns:
                continue
            steepest = max(steepest, world.ground.slope_pct[r // 2, c // 2])
            most = max(most, world.ground.upslope[r // 2, c // 2])
            bits |= world.mask.bits[r, c]
        slope_pct[i] = steepest
        upslope[i] = most
        look[i] = bits & world.mask.look_bits
