"""Nested footprints as lists of mask cells: each size of each shape lists only the cells that are new to it.

So the first blocked cell on the list gives the largest size that fits.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from screening.rules import Rules
from screening.siting.kernels.template_kernels import first_covering

__all__ = ["ASPECTS", "DIRECTIONS", "Templates", "footprint_templates", "nested_sizes_m2"]

ASPECTS: Final = (2.0, 1.5, 1.15, 3.0)
"""Length over width, in the order of preference; the last two only where the first two do not hold the water."""

DIRECTIONS: Final = 16
"""Directions of the long axis over half a turn."""

FINE_SIZES_TO_M2: Final = 12.0


class Templates(NamedTuple):
    """Footprints on mask cells; shape number = aspect x DIRECTIONS + direction.

    ``cells`` (int16, shape (n, 3): rows south and columns east of the centre, and the first size that covers the cell)
    lists the cells of shape s sorted by size, those of size i and larger from ``first_cell[s, i]`` to the last of
    ``first_cell[s]``. ``rows`` (int16, shape (m, 3)): rows of cells that shape s covers, from ``first_row[s]`` to
    ``first_row[s + 1]``, those by the centre first: row south of it, column of its middle, a cell that the smallest
    size covers, and the first size that covers any cell of this row or of those that come after it. ``reached`` (int16,
    shape (m, 2, 2 reach + 2)): the first size that covers a cell so many columns east, or west, of the middle, ever
    larger; the number of sizes where none does. ``aspects``: each with its least ponding area [m2], wide enough.
    ``directions``: cosine and sine of each, anticlockwise from east. ``core``: rows and columns of the cells that every
    footprint covers, the first ``core_between`` of them whichever point of its mask cell it is centred on. ``reach``:
    cells from a centre to the furthest covered.
    """

    cells: NDArray[np.int16]
    first_cell: NDArray[np.int64]
    rows: NDArray[np.int16]
    first_row: NDArray[np.int64]
    reached: NDArray[np.int16]
    sizes_m2: NDArray[np.float64]
    aspects: NDArray[np.float64]
    directions: NDArray[np.float64]
    core: NDArray[np.int16]
    core_between: int
    reach: int


def nested_sizes_m2(least_m2: float, most_m2: float) -> NDArray[np.float64]:
    """Ponding areas to try: by half a square metre up to 12, then by one, the least and the most among them [m2]."""
    fine = np.arange(least_m2, min(FINE_SIZES_TO_M2, most_m2), 0.5)
    coarse = np.arange(max(FINE_SIZES_TO_M2, least_m2), most_m2, 1.0)
    return np.unique(np.concatenate([fine, coarse, [most_m2]]))


def footprint_templates(rules: Rules, cell_x_m: float, cell_y_m: float) -> Templates:
    """Make the templates for mask cells of this size.

    Footprints are read a quarter of a mask cell smaller than they are, so that a cell that setbacks touch only within
    that margin never blocks a footprint that fits.
    """
    return _templates(
        rules.ponding_area_least_m2,
        rules.ponding_area_most_m2,
        rules.width_least_m,
        rules.berm_ring_m,
        cell_x_m,
        cell_y_m,
    )


@lru_cache(maxsize=8)
def _templates(least: float, most: float, width: float, ring: float, cell_x_m: float, cell_y_m: float) -> Templates:
    sizes = nested_sizes_m2(least, most)
    angle = np.arange(DIRECTIONS) * np.pi / DIRECTIONS
    cos, sin = np.cos(angle), np.sin(angle)
    margin = 0.25 * max(cell_x_m, cell_y_m)
    reach_m = np.sqrt(sizes[-1] * max(ASPECTS) / np.pi) + ring
    reach_rows, reach_columns = int(reach_m / cell_y_m) + 1, int(reach_m / cell_x_m) + 1
    covering = np.empty((2 * reach_rows + 1, 2 * reach_columns + 1), dtype=np.int16)
    least_m2 = np.maximum(least, np.pi * (0.5 * width) ** 2 * np.array(ASPECTS))
    lists, runs, in_all = [], [], np.ones(covering.shape, dtype=bool)
    for aspect, enough in zip(ASPECTS, least_m2, strict=True):
        # sizes that are too small, and the first, leave no room where they cover a closed cell
        small = max(int(np.searchsorted(sizes, enough)), 1)
        for c, s in zip(cos, sin, strict=True):
            first_covering(cell_x_m, cell_y_m, reach_rows, reach_columns, c, s, aspect, sizes, ring - margin, covering)
            in_all &= covering < small
            rows, columns = np.nonzero(covering < len(sizes))
            size = covering[rows, columns]
            order = np.argsort(size, kind="stable")
            lists.append(np.column_stack([rows - reach_rows, columns - reach_columns, size])[order].astype(np.int16))
            runs.append(_row_reach(covering, len(sizes), max(reach_rows, reach_columns)))
    half_width = np.sqrt(least_m2 / (np.pi * np.array(ASPECTS))).min()
    core = half_width + ring - margin - 0.5 * np.hypot(cell_x_m, cell_y_m)
    rows, columns = np.mgrid[-reach_rows : reach_rows + 1, -reach_columns : reach_columns + 1]
    between = np.hypot(rows * cell_y_m, columns * cell_x_m) < core
    cells = [np.column_stack([rows[some], columns[some]]) for some in (between, in_all & ~between)]
    return Templates(
        cells=np.concatenate(lists),
        first_cell=_first_of_sizes(lists, len(sizes)),
        rows=np.concatenate([middles for middles, _ in runs]),
        first_row=np.concatenate([[0], np.cumsum([len(middles) for middles, _ in runs])]).astype(np.int64),
        reached=np.concatenate([reached for _, reached in runs]),
        sizes_m2=sizes,
        aspects=np.column_stack([ASPECTS, least_m2]),
        directions=np.column_stack([cos, sin]),
        core=np.concatenate(cells).astype(np.int16),
        core_between=len(cells[0]),
        reach=max(reach_rows, reach_columns),
    )


def _first_of_sizes(lists: list[NDArray[np.int16]], sizes: int) -> NDArray[np.int64]:
    """Where the cells of each size of each shape begin once the lists are joined; in a last column, where they end."""
    before = np.cumsum([0, *(len(cells) for cells in lists)])
    within = [np.searchsorted(cells[:, 2], np.arange(sizes + 1)) for cells in lists]
    return np.array([start + first for start, first in zip(before, within, strict=False)], dtype=np.int64)


def _row_reach(covering: NDArray[np.int16], sizes: int, reach: int) -> tuple[NDArray[np.int16], NDArray[np.int16]]:
    """Middles of the rows that a shape covers, and the first size to cover a cell so far east and west of them."""
    south = np.flatnonzero((covering < sizes).any(axis=1))
    south = south[np.argsort(np.abs(south - covering.shape[0] // 2), kind="stable")]
    middle = np.argmin(covering[south], axis=1)
    reached = np.full((len(south), 2, 2 * reach + 2), sizes, dtype=np.int16)
    for k, (row, column) in enumerate(zip(south, middle, strict=True)):
        for side, cells in enumerate((covering[row, column:], covering[row, column::-1])):
            reached[k, side, : len(cells)] = cells
    rows, columns = covering.shape
    from_here = np.minimum.accumulate(reached[::-1, 0, 0])[::-1]
    return np.column_stack([south - rows // 2, middle - columns // 2, from_here]).astype(np.int16), reached
