"""Number the hollows of a raster and add up what each holds."""

from __future__ import annotations

import numpy as np

from screening.jit import compiled


@compiled
def number_hollows(inside, number, stack):
    """Number the eight-connected groups of ``inside`` cells by their first cell; return how many."""
    rows, columns = inside.shape
    count = 0
    for r in range(rows):
        for c in range(columns):
            if not inside[r, c] or number[r, c] != 0:
                continue
            count += 1
            number[r, c] = count
            stack[0] = r * columns + c
            depth = 1
            while depth > 0:
                depth -= 1
                y, x = stack[depth] // columns, stack[depth] % columns
                for i in range(max(y - 1, 0), min(y + 2, rows)):
                    for j in range(max(x - 1, 0), min(x + 2, columns)):
                        if inside[i, j] and number[i, j] == 0:
                            number[i, j] = count
                            stack[depth] = i * columns + j
                            depth += 1
    return count


@compiled
def measure_hollows(number, z, filled, enclosed, first, level, deepest, volume, cells, shut):
    """Add up depth, volume and cells of each hollow, depths in whole 1/65536 of a height unit."""
    rows, columns = number.shape
    for r in range(rows):
        for c in range(columns):
            n = number[r, c] - 1
            if n < 0:
                continue
            depth = np.int64(np.floor((np.float64(filled[r, c]) - np.float64(z[r, c])) * 65536.0 + 0.5))
            if cells[n] == 0:
                first[n] = np.int64(r) * columns + c
                level[n] = filled[r, c]
            level[n] = min(level[n], np.float64(filled[r, c]))
            deepest[n] = max(deepest[n], depth)
            volume[n] += depth
            cells[n] += 1
            shut[n] = shut[n] or enclosed[r, c]
