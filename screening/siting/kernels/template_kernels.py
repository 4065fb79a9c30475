"""Which mask cells a footprint covers, size after size."""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled
from screening.siting.kernels.ellipse_kernels import point_gap

__all__ = ["first_covering"]


@compiled
def first_covering(
    cell_x: float,
    cell_y: float,
    reach_rows: int,
    reach_columns: int,
    cos: float,
    sin: float,
    aspect: float,
    sizes: Any,
    ring: float,
    out: Any,
) -> None:
    """First size whose footprint covers each cell around a centre; the number of sizes where none does.

    ``out``: int16, shape (2 reach_rows + 1, 2 reach_columns + 1), written in place. A cell counts when its centre lies
    nearer to the ponding ellipse than ``ring``.
    """
    count = sizes.shape[0]
    for i in range(2 * reach_rows + 1):
        for j in range(2 * reach_columns + 1):
            x = (j - reach_columns) * cell_x
            y = (reach_rows - i) * cell_y
            u = x * cos + y * sin
            v = y * cos - x * sin
            low = 0
            high = count
            while low < high:  # footprints are nested: halve the range
                middle = (low + high) // 2
                a = math.sqrt(sizes[middle] * aspect / math.pi)
                if point_gap(u, v, a, a / aspect) < ring:
                    high = middle
                else:
                    low = middle + 1
            out[i, j] = low
