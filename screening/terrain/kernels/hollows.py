"""Number the hollows of a tile and add up what each holds."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.jit import compiled
from screening.terrain.kernels.contract import find

Array = NDArray[Any]


@compiled
def measure_hollows(
    z: Array, state: Array, r0: int, c0: int, columns: int, label: Array, level: Array, enclosed: Array, hollow: Array,
    base: int, number: Array, fr: int, fc: int, totals: Array, bottom: Array,
) -> None:  # fmt: skip
    """Number a tile's hollows (``base`` plus the basin they end in) and add up what each holds.

    A cell is in a hollow when it lies below the level of its basin, or in enclosed ground. ``totals`` has a row each
    for the first cell of the tile (comes filled with -1), the lowest one, the greatest depth and the sum of depths in
    whole 1/65536 of a height unit, and the number of cells; ``bottom`` gets the height of the lowest cell.
    """
    for r in range(label.size // columns):
        for c in range(columns):
            b = label[r * columns + c]
            h = z[r0 + r, c0 + c]
            s = state[r0 + r, c0 + c]
            if (s != 0 and s != 2) or not (h < level[b] or enclosed[b]):
                number[fr + r, fc + c] = 0
                continue
            n = hollow[b]
            number[fr + r, fc + c] = base + n
            new = totals[0, n] < 0
            if new:
                totals[0, n] = r * columns + c
            if new or h < bottom[n]:
                totals[1, n] = r * columns + c
                bottom[n] = h
            depth = np.int64(np.floor(max(np.float64(level[b]) - np.float64(h), 0.0) * 65536.0 + 0.5))
            totals[2, n] = max(totals[2, n], depth)
            totals[3, n] += depth
            totals[4, n] += 1


@compiled
def join_hollows(one: Array, other: Array, parent: Array) -> None:
    """Join hollows that go on across tile edges."""
    for q in range(one.size):
        x, y = find(parent, one[q]), find(parent, other[q])
        if x != y:
            parent[max(x, y)] = min(x, y)


@compiled
def gather_hollows(parent: Array, totals: Array, bottom: Array, level: Array, enclosed: Array) -> None:
    """Add joined hollows up in the lowest number of each group, which comes before the others."""
    for n in range(parent.size):
        root = find(parent, n)
        parent[n] = root
        if root == n:
            continue
        if totals[0, n] < totals[0, root]:
            totals[0, root] = totals[0, n]
        if bottom[n] < bottom[root] or (bottom[n] == bottom[root] and totals[1, n] < totals[1, root]):
            totals[1, root], bottom[root] = totals[1, n], bottom[n]
        totals[2, root] = max(totals[2, root], totals[2, n])
        totals[3, root] += totals[3, n]
        totals[4, root] += totals[4, n]
        level[root] = min(level[root], level[n])
        enclosed[root] = enclosed[root] or enclosed[n]


@compiled
def renumber(number: Array, final: Array, first: int, last: int) -> None:
    """Replace the numbers of rows first..last by their final ones."""
    for r in range(first, last):
        for c in range(number.shape[1]):
            number[r, c] = final[number[r, c]]
