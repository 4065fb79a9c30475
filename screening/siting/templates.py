"""Nested footprints as lists of mask cells: each size of each shape lists only the cells that are new to it.

So the first blocked cell on the list gives the largest size that fits.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final, NamedTuple

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

    ``rows`` and ``columns`` (int16, south and east of the centre) and ``size`` (int16, the first size that covers the
    cell) are lists of cells, those of shape s from ``first[s]`` to ``first[s + 1]``, sorted by size. ``least_m2``: the
    least ponding area of each aspect, wide enough. ``cos``, ``sin``: of each direction, anticlockwise from east. ``core_rows``, ``core_columns``: cells that every footprint covers, whichever
    point of its mask cell it is centred on. ``reach``: cells from a centre to the furthest covered.
    """

    rows: NDArray[np.int16]
    columns: NDArray[np.int16]
    size: NDArray[np.int16]
    first: NDArray[np.int64]
    least_m2: NDArray[np.float64]
    sizes_m2: NDArray[np.float64]
    aspects: NDArray[np.float64]
    cos: NDArray[np.float64]
    sin: NDArray[np.float64]
    core_rows: NDArray[np.int16]
    core_columns: NDArray[np.int16]
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
    lists: list[tuple[Any, ...]] = []
    for aspect in ASPECTS:
        for c, s in zip(cos, sin, strict=True):
            first_covering(cell_x_m, cell_y_m, reach_rows, reach_columns, c, s, aspect, sizes, ring - margin, covering)
            rows, columns = np.nonzero(covering < len(sizes))
            size = covering[rows, columns]
            order = np.argsort(size, kind="stable")
            lists.append((rows[order] - reach_rows, columns[order] - reach_columns, size[order]))
    least_m2 = np.maximum(least, np.pi * (0.5 * width) ** 2 * np.array(ASPECTS))
    half_width = np.sqrt(least_m2 / (np.pi * np.array(ASPECTS))).min()
    core = half_width + ring - margin - 0.5 * np.hypot(cell_x_m, cell_y_m)
    rows, columns = np.mgrid[-reach_rows : reach_rows + 1, -reach_columns : reach_columns + 1]
    in_core = np.hypot(rows * cell_y_m, columns * cell_x_m) < core
    return Templates(
        rows=np.concatenate([rows for rows, _, _ in lists]).astype(np.int16),
        columns=np.concatenate([columns for _, columns, _ in lists]).astype(np.int16),
        size=np.concatenate([size for _, _, size in lists]).astype(np.int16),
        first=np.concatenate([[0], np.cumsum([len(rows) for rows, _, _ in lists])]).astype(np.int64),
        least_m2=least_m2,
        sizes_m2=sizes,
        aspects=np.array(ASPECTS),
        cos=cos,
        sin=sin,
        core_rows=rows[in_core].astype(np.int16),
        core_columns=columns[in_core].astype(np.int16),
        reach=max(reach_rows, reach_columns),
    )
