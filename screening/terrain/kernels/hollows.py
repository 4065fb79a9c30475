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
    z: Array,
    state: Array,
    r0: int,
    c0: int,
    columns: int,
    label: Array,
    level: Array,
    enclosed: Array,
    hollow: Array,
    base: int,
    number: Array,
    fr: int,
    fc: int,
    first: Array,
    deepest: Array,
    volume: Array,
    cells: Array,
) -> None:
    """Number a tile's hollows (``base`` plus the basin they end in); depths in whole 1/65536 of a height unit.

    A cell is in a hollow when it lies below the level of its basin, or in enclosed ground. ``first`` comes filled with
    -1 and gets the first cell (of the tile), ``number`` is written at (fr, fc).
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
            if first[n] < 0:
                first[n] = r * columns + c
            depth = np.int64(np.floor(max(np.float64(level[b]) - np.float64(h), 0.0) * 65536.0 + 0.5))
            deepest[n] = max(deepest[n], depth)
            volume[n] += depth
            cells[n] += 1


@compiled
def join_hollows(one: Array, other: Array, parent: Array) -> None:
    """Join hollows that go on across tile edges."""
    for q in range(one.size):
        x, y = find(parent, one[q]), find(parent, other[q])
        if x != y:
            parent[max(x, y)] = min(x, y)


@compiled
def gather_hollows(
    parent: Array, first: Array, level: Array, deepest: Array, volume: Array, cells: Array, enclosed: Array
) -> None:
    """Add joined hollows up in the lowest number of each group, which comes before the others."""
    for n in range(parent.size):
        root = find(parent, n)
        parent[n] = root
        if root != n and cells[n] > 0:
            first[root] = min(first[root], first[n])
            level[root] = min(level[root], level[n])
            deepest[root] = max(deepest[root], deepest[n])
            volume[root] += volume[n]
            cells[root] += cells[n]
            enclosed[root] = enclosed[root] or enclosed[n]


@compiled
def renumber(number: Array, final: Array, first: int, last: int) -> None:
    """Replace the numbers of rows first..last by their final ones."""
    for r in range(first, last):
        for c in range(number.shape[1]):
            number[r, c] = final[number[r, c]]
