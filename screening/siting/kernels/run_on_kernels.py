"""Ground that drains into footprints from beside them, by following the water out of each."""

from __future__ import annotations

from typing import Any

from screening.jit import compiled

__all__ = ["NODATA", "WALL", "cells_that_run_on", "leaves_for_good"]

WALL = 1
NODATA = 3
"""States of cells as ``screening.grid`` numbers them: a kernel imports nothing of other rooms."""


@compiled
def leaves_for_good(
    at: int, mark: int, most: int, direction: Any, cells: Any, steps: Any, stamp: Any, far: int
) -> bool:
    """Whether the water of a marked cell, on its next step and later, comes to no marked cell again.

    Followed until more cells drain through than through any marked one, or for ``far`` cells.
    """
    for _ in range(far):
        step = steps[direction[at]]
        if step == 0:
            return True
        at += step
        if stamp[at] == mark:
            return False
        if cells[at] > most:
            return True
    return True


@compiled
def cells_that_run_on(
    row: Any, column: Any, shape: Any, size: Any, cells: Any, first_cell: Any, direction: Any, upslope: Any, state: Any,
    unknown: Any, steps: Any, far: int, columns: int, stamp: Any, found: Any, out: Any,
) -> None:  # fmt: skip
    """Cells beside each footprint that drain into it, each counted once; -1 where that is not known.

    All that drains through the cells where water leaves the footprint for good, less the footprint's own cells.

    Parameters
    ----------
    row, column, shape, size
        Mask cell (half a cell wide) of the centre, shape and number of the first size that is large enough.
    cells, first_cell
        Templates.
    direction, upslope, state, unknown
        Of each cell of the window, flat: D8 code, cells that drain through it, state, and whether ground without
        elevation may drain through it.
    steps, far, columns
        Change of flat index by code; cells that water is followed for; columns of the window.
    stamp
        Room to work in, int32, 0 everywhere to begin with, one a cell of the window.
    found
        Room to work in, int64, one a cell of the largest template.
    out
        Results. [cells]
    """
    rows = direction.shape[0] // columns
    for i in range(row.shape[0]):
        mark = i + 1
        count = 0
        known = True
        most = 0
        for k in range(first_cell[shape[i], 0], first_cell[shape[i], size[i] + 1]):
            r = (row[i] + cells[k, 0]) // 2
            c = (column[i] + cells[k, 1]) // 2
            if r < 0 or c < 0 or r >= rows or c >= columns:
                known = False
                continue
            at = r * columns + c
            if stamp[at] == mark:
                continue
            stamp[at] = mark
            known = known and state[at] != NODATA and not unknown[at]
            found[count] = at
            count += 1
            most = max(most, upslope[at])
        total = 0
        for k in range(count):
            at = found[k]
            if upslope[at] == 0:
                continue
            total -= 1 if state[at] != WALL else 0
            step = steps[direction[at]]
            if step != 0 and stamp[at + step] == mark:
                continue
            if leaves_for_good(at, mark, most, direction, upslope, steps, stamp, far):
                total += upslope[at]
        out[i] = total if known else -1
