"""Lines along which water gathers, traced down the flow directions."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from screening.sources import RasterSource, Window

__all__ = ["flow_lines"]

_ROWS: Final = 2048
_STEPS: Final[dict[int, tuple[int, int]]] = {
    1: (0, 1), 2: (1, 1), 4: (1, 0), 8: (1, -1), 16: (0, -1), 32: (-1, -1), 64: (-1, 0), 128: (-1, 1),
}  # fmt: skip
"""Row and column step of each direction code."""


def _chains(
    direction: NDArray[np.uint8], cells: NDArray[np.int64], least: int, own_rows: int
) -> list[tuple[NDArray[np.int64], NDArray[np.int64], int]]:
    """Rows, columns and most cells of each line: from a source or a junction to the next junction or the end.

    Rows from ``own_rows`` on belong to the next strip: lines end there and none begins.
    """
    rows, columns = cells.shape
    wet = cells >= least
    row, column = np.nonzero(wet)
    code = direction[row, column]
    step = np.zeros((256, 2), dtype=np.int64)
    for key, value in _STEPS.items():
        step[key] = value
    to_row, to_column = row + step[code, 0], column + step[code, 1]
    leaves = (row >= own_rows) | ~np.isin(code, list(_STEPS))
    leaves |= (to_row < 0) | (to_row >= rows) | (to_column < 0) | (to_column >= columns)
    number = np.full(rows * columns, -1, dtype=np.int64)
    number[row * columns + column] = np.arange(row.size)
    inside = ~leaves
    following = np.full(row.size, -1, dtype=np.int64)
    following[inside] = number[to_row[inside] * columns + to_column[inside]]
    entering = np.bincount(following[following >= 0], minlength=row.size)
    out = []
    for start in np.flatnonzero((entering != 1) & (row < own_rows)):
        chain = [int(start)]
        while following[chain[-1]] >= 0:
            chain.append(int(following[chain[-1]]))
            if entering[chain[-1]] > 1:
                break
        last = chain[-1] if len(chain) < 2 or entering[chain[-1]] <= 1 else chain[-2]
        if len(chain) > 1:
            out.append((row[chain], column[chain], int(cells[row[last], column[last]])))
    return out


def flow_lines(
    direction: RasterSource, accumulation: RasterSource, least_m2: float
) -> tuple[list[BaseGeometry], NDArray[np.float64]]:
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
    lines: list[BaseGeometry] = []
    areas: list[float] = []
    rows, columns = accumulation.shape
    for first in range(0, rows, _ROWS):
        window = Window(first, 0, min(_ROWS + 1, rows - first), columns)
        traced = _chains(direction.read(window), accumulation.read(window), least, min(_ROWS, rows - first))
        for row, column, cells in traced:
            x = transform.c + (column + 0.5) * transform.a
            y = transform.f + (row + first + 0.5) * transform.e
            lines.append(shapely.LineString(np.column_stack([x, y])).simplify(0.7 * transform.a))
            areas.append(cells * cell_area_m2)
    return lines, np.array(areas)
