"""How much of a shape is clear around a mask cell of a lot's window.

Sizes of a shape are nested and convex: along each row of it they grow to both sides of its middle. So the first size
that covers a closed cell, say, is told by those nearest to the middles of its rows, whose distances are kept by cell.
"""

from __future__ import annotations

from typing import Any

from screening.jit import compiled

__all__ = ["CLOSED", "LOOK", "STEEP", "cell_offsets", "clear_runs", "first_size", "marked_size", "shape_rooms"]

LOOK, STEEP, CLOSED = 1, 2, 3
"""Kinds of mask cells that are not clear."""


@compiled
def cell_offsets(cells: Any, width: int, out: Any) -> None:
    """Where cells of the templates (rows, columns, ...) lie in a flat window of so many columns; in place."""
    for i in range(cells.shape[0]):
        out[i] = cells[i, 0] * width + cells[i, 1]


@compiled
def clear_runs(window: Any, border: int, level: Any, kind: int, longest: int, out: Any) -> None:
    """Count the cells in a row from each cell of a lot's window on that are not of a kind.

    Parameters
    ----------
    window, border, level
        Rows, columns and width of the window as ``lot_window`` gives them, the closed border around it, and its cells.
    kind
        Of mask cells.
    longest
        Longer runs are not told apart.
    out
        Cells east and west of each, itself among them, uint16, shape (cells, 2), in place.
    """
    beyond = 0 if kind == CLOSED else longest
    for at in range(out.shape[0]):
        out[at, 0] = beyond
        out[at, 1] = beyond
    for row in range(window[0], window[1]):
        first = (row - window[0] + border) * window[4] + border
        last = first + window[3] - window[2]
        before = first - 1 - beyond
        after = last + beyond
        for at in range(first, last):
            before = at if level[at] == kind else before
            out[at, 1] = min(at - before, longest)
        for at in range(last - 1, first - 1, -1):
            after = at if level[at] == kind else after
            out[at, 0] = min(after - at, longest)


@compiled
def first_size(
    runs: Any, at: int, row_offsets: Any, rows: Any, reached: Any, first: int, last: int, before: int
) -> int:
    """First size of a shape that covers a cell of a kind; ``before`` where none before that does.

    Parameters
    ----------
    runs, at
        ``clear_runs`` of the kind, and the cell of the centre.
    row_offsets, rows, reached
        ``cell_offsets`` of the middles of the rows of all shapes; ``Templates.rows`` and ``reached``.
    first, last
        Where the rows of the shape begin and end.
    before
        Sizes to look through.
    """
    least = before
    row = first
    while row < last and rows[row, 2] < least:
        middle = at + row_offsets[row]
        least = min(least, reached[row, 0, runs[middle, 0]], reached[row, 1, runs[middle, 1]])
        row += 1
    return least


@compiled
def marked_size(
    level: Any, runs: Any, kind: int, closed: int, at: int, offsets: Any, row_offsets: Any, first_cell: Any,
    first_row: Any, rows: Any, reached: Any, shape: int,
) -> int:  # fmt: skip
    """First size of a shape that covers a cell to look at, or a steep one, before any closed one; else all sizes.

    Parameters
    ----------
    level, runs, kind, at
        Cells of the window; ``clear_runs`` of the kind, and the kind; the cell of the centre.
    closed
        First size that covers a closed cell; of the cells of one size the first in the template counts.
    offsets, row_offsets
        ``cell_offsets`` of the cells and the rows of all shapes.
    first_cell, first_row, rows, reached, shape
        As in ``Templates``, and the shape.
    """
    sizes: int = first_cell.shape[1] - 1
    before = min(closed + 1, sizes)
    size: int = first_size(runs, at, row_offsets, rows, reached, first_row[shape], first_row[shape + 1], before)
    if size == before:
        return sizes
    if size == closed and size < sizes:
        i = first_cell[shape, size]
        while level[at + offsets[i]] != kind and level[at + offsets[i]] != CLOSED:
            i += 1
        if level[at + offsets[i]] == CLOSED:
            return sizes
    return size


@compiled
def shape_rooms(flags: Any, sizes: Any, room: float, out: Any) -> None:
    """Room clear of everything to look at, room clear of steep ground, and room."""
    count = sizes.shape[0]
    look = flags[0]
    steep = flags[1]
    before_look = sizes[max(look - 1, 0)]
    before_steep = sizes[max(steep - 1, 0)]
    even = room
    if steep < count:
        even = min(room, before_steep) if steep > 0 else 0.0
    clear = even
    if look < count:
        clear = min(even, before_look) if look > 0 else 0.0
    out[0] = clear
    out[1] = even
    out[2] = room
