"""Lines along which water gathers, traced down the flow directions."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from screening.sources import RasterSource, Window

__all__ = ["flow_lines"]

_ROWS: Final = 2048
_STEPS: Final[dict[int, tuple[int, int]]] = {
    1: (0, 1), 2: (1, 1), 4: (1, 0), 8: (1, -1), 16: (0, -1), 32: (-1, -1), 64: (-1, 0), 128: (-1, 1),
}  # fmt: skip
"""Row and column step of each direction code."""


def _following(
    direction: NDArray[np.uint8], shape: tuple[int, int], row: NDArray[np.int64], column: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Number of the cell that each of some cells drains to, -1 where that is none of them."""
    step = np.zeros((256, 2), dtype=np.int64)
    for key, value in _STEPS.items():
        step[key] = value
    code = direction[row, column]
    to_row, to_column = row + step[code, 0], column + step[code, 1]
    inside = (to_row != row) | (to_column != column)
    inside &= (to_row >= 0) & (to_row < shape[0]) & (to_column >= 0) & (to_column < shape[1])
    number = np.full(shape[0] * shape[1], -1, dtype=np.int64)
    number[row * shape[1] + column] = np.arange(row.size)
    following = np.full(row.size, -1, dtype=np.int64)
    following[inside] = number[to_row[inside] * shape[1] + to_column[inside]]
    return following


def _from_heads(before: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Head of each cell's chain and steps from it, by doubling; a head comes before itself."""
    head = before
    steps = (before != np.arange(before.size)).astype(np.int64)
    for _ in range(before.size.bit_length()):
        if not steps[head].any():
            break
        steps = steps + steps[head]
        head = head[head]
    return head, steps


def _chains(
    direction: NDArray[np.uint8], cells: NDArray[np.int64], least: int, own_rows: int
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Row, column and line of each point, in order down the lines, and most cells upslope of each line.

    A line runs from a source or a junction to the next junction or the end. Rows from ``own_rows`` on belong to the
    next strip: lines end there and none begins.
    """
    row, column = np.nonzero(cells >= least)
    following = _following(direction, (cells.shape[0], cells.shape[1]), row, column)
    following[row >= own_rows] = -1
    entering = np.bincount(following[following >= 0], minlength=row.size)
    before = np.arange(row.size)
    alone = np.flatnonzero((following >= 0) & (entering[following] == 1))
    before[following[alone]] = alone
    head, steps = _from_heads(before)
    drawn = ((entering != 1) & (row < own_rows))[head]
    joins = np.flatnonzero(drawn & (following >= 0) & (entering[following] > 1))
    ends = np.flatnonzero(drawn & ((following < 0) | (entering[following] > 1)))
    own = np.flatnonzero(drawn)
    cell = np.concatenate([own, following[joins]])
    line = np.concatenate([head[own], head[joins]])
    order = np.lexsort((np.concatenate([steps[own], steps[joins] + 1]), line))
    most = np.zeros(row.size, dtype=np.int64)
    most[head[ends]] = cells[row[ends], column[ends]]
    long = np.bincount(line, minlength=row.size) > 1
    order = order[long[line[order]]]
    starts, numbers = np.unique(line[order], return_inverse=True)
    return row[cell[order]], column[cell[order]], numbers, most[starts]


def flow_lines(
    direction: RasterSource, accumulation: RasterSource, least_m2: float
) -> tuple[NDArray[np.object_], NDArray[np.float64]]:
    """Trace the lines that at least so much ground drains to.

    Parameters
    ----------
    direction, accumulation
        D8 codes and cells upslope, on one grid; read strip by strip, a line ends where its strip does.
    least_m2
        Upslope area from which a line is drawn. [m2]

    Returns
    -------
    tuple
        Lines through cell centres, drawn with fewer points to within 0.7 of a cell, working CRS; and the upslope area
        at the end of each. [m2]
    """
    transform = accumulation.transform
    cell_area_m2 = transform.a * -transform.e
    least = max(2, int(np.ceil(least_m2 / cell_area_m2)))
    lines, areas = [], []
    rows, columns = accumulation.shape
    for first in range(0, rows, _ROWS):
        window = Window(first, 0, min(_ROWS + 1, rows - first), columns)
        row, column, line, cells = _chains(
            direction.read(window), accumulation.read(window), least, min(_ROWS, rows - first)
        )
        x = transform.c + (column + 0.5) * transform.a
        y = transform.f + (row + first + 0.5) * transform.e
        traced = shapely.linestrings(np.column_stack([x, y]), indices=line)
        lines.append(shapely.simplify(traced, 0.7 * transform.a, preserve_topology=False))
        areas.append(cells * cell_area_m2)
    return np.concatenate(lines), np.concatenate(areas)
