"""Walk down D8 directions from every cell, and from spots."""

from __future__ import annotations

from typing import Any, Final

from screening.jit import compiled

__all__ = ["UNKNOWN", "first_met", "trace_overflows"]

UNKNOWN: Final = 255
"""Mark of a cell whose water ``first_met`` has not followed yet; one that it is on has one less."""


@compiled
def first_met(direction: Any, stops: Any, setbacks: Any, steps: Any, reaches: Any, enters: Any, trail: Any) -> bool:
    """Write for every cell the first stop that its water meets and the first setback that it enters before.

    A cell's own labels count. Everything is flat, and each cell is followed once.

    Parameters
    ----------
    direction, stops, setbacks
        D8 codes, uint8; labels, int32, 0 none; stops below 254.
    steps
        Change of linear index for each code, int64, shape (256,).
    reaches, enters
        Written: uint8, filled with ``UNKNOWN`` to begin with; int32.
    trail
        Room for the longest way, int64.

    Returns
    -------
    bool
        False where the directions run in a circle.
    """
    for start in range(direction.size):
        cell = start
        depth = 0
        while reaches[cell] == 255:
            code = direction[cell]
            if stops[cell] > 0 or code == 0 or code == 255:
                reaches[cell] = stops[cell]
                enters[cell] = setbacks[cell] if stops[cell] == 0 else 0
            else:
                reaches[cell] = 254
                trail[depth] = cell
                depth += 1
                cell += steps[code]
        if reaches[cell] == 254:
            return False
        while depth > 0:
            depth -= 1
            above = trail[depth]
            reaches[above] = reaches[cell]
            enters[above] = setbacks[above] if setbacks[above] > 0 else enters[cell]
            cell = above
    return True


@compiled
def trace_overflows(
    row: Any,
    column: Any,
    entered: Any,
    direction: Any,
    stops: Any,
    setbacks: Any,
    lots: Any,
    carved: Any,
    end: Any,
    building: Any,
    deepest: Any,
    path_start: Any,
    path: Any,
) -> int:
    """Walk down from each spot to a stop, a building's setback, another lot, or where the way is lost.

    Parameters
    ----------
    row, column
        Cells of the spots, int64.
    entered
        Whether each spot's water enters a building's setback, uint8: then lot lines do not end the walk.
    direction, stops, setbacks, lots, carved
        Cells, 2-D: D8 codes uint8; stops, setbacks (0 none) and lots (0 none) int32; depth of cuts, NaN for none [m].
    end
        Label of the stop; 5 another lot; 6 a building; 0 lost. int64.
    building
        Label of the setback entered, int32, 0 none.
    deepest
        Deepest cut on the way, float64. [m]
    path_start
        First entry of each path in ``path``, and the end, int64.
    path
        Linear indices of the cells, int64.

    Returns
    -------
    int
        Entries needed; when more than ``path`` has, call again with a longer one.
    """
    rows, columns = direction.shape
    used = 0
    for i in range(row.size):
        r, c = row[i], column[i]
        own = lots[r, c]
        path_start[i] = used
        end[i], building[i], deepest[i] = 0, 0, 0.0
        while True:
            if used < path.size:
                path[used] = r * columns + c
            used += 1
            if carved[r, c] > deepest[i]:
                deepest[i] = carved[r, c]
            if stops[r, c] > 0:
                end[i] = stops[r, c]
                break
            if entered[i] and setbacks[r, c] > 0:
                end[i] = 6
                building[i] = setbacks[r, c]
                break
            if not entered[i] and lots[r, c] > 0 and lots[r, c] != own:
                end[i] = 5
                break
            code = direction[r, c]
            if code == 0 or code == 255:
                break
            if code == 1 or code == 2 or code == 128:
                c += 1
            elif code == 8 or code == 16 or code == 32:
                c -= 1
            if code == 2 or code == 4 or code == 8:
                r += 1
            elif code == 32 or code == 64 or code == 128:
                r -= 1
            if r < 0 or c < 0 or r >= rows or c >= columns:
                break
    path_start[row.size] = used
    return used
