"""The carved flow tree of a whole raster by Prim's algorithm: slow, short, and right."""

from __future__ import annotations

from heapq import heappop, heappush

import numpy as np

from screening.jit import compiled


@compiled
def lowest_ways(z, state, step_r, step_c, inverse_m, way):
    """Write the first way down of every cell: 0..7, 8 drains out, 9 pit, 10 none."""
    rows, columns = z.shape
    for r in range(rows):
        for c in range(columns):
            s = state[r, c]
            way[r, c] = 9
            if s == 3:
                way[r, c] = 10
                continue
            out = s == 2
            best = -1.0
            best_class, best_z, best_index = 9, 0.0, 0
            for k in range(8):
                i, j = r + step_r[k], c + step_c[k]
                if i < 0 or j < 0 or i >= rows or j >= columns or state[i, j] == 3:
                    out = True
                    continue
                there = 1 if state[i, j] == 1 else 0
                if s == 1:
                    if there == 0 or z[i, j] < z[r, c] or (z[i, j] == z[r, c] and k >= 4):
                        index = i * columns + j
                        if (there, z[i, j], index) < (best_class, best_z, best_index):
                            best_class, best_z, best_index = there, z[i, j], index
                            way[r, c] = k
                elif there == 0 and (z[i, j] < z[r, c] or (z[i, j] == z[r, c] and k >= 4)):
                    slope = (np.float64(z[r, c]) - np.float64(z[i, j])) * inverse_m[k]
                    if slope > best:
                        best = slope
                        way[r, c] = k
            if out:
                way[r, c] = 8


@compiled
def grow_tree(z, state, step_r, step_c, way, direction, order):
    """Grow the least tree from outside; write codes and the order of joining, return how many cells joined."""
    rows, columns = z.shape
    joined = 0
    heap = [(2, 0.0, np.int64(0), 0, np.int64(0), 0)]
    for r in range(rows):
        for c in range(columns):
            direction[r, c] = 255
            if way[r, c] == 8:
                here = 1 if state[r, c] == 1 else 0
                index = np.int64(r * columns + c)
                heappush(heap, (here, np.float64(z[r, c]), index, 0, index, -1))
    while len(heap) > 1:
        cell, k = heappop(heap)[4:]
        r, c = cell // columns, cell % columns
        if direction[r, c] != 255:
            continue
        direction[r, c] = 0 if k < 0 else 1 << k
        order[joined] = cell
        joined += 1
        here = 1 if state[r, c] == 1 else 0
        for k in range(8):
            i, j = r + step_r[k], c + step_c[k]
            if i < 0 or j < 0 or i >= rows or j >= columns or state[i, j] == 3 or direction[i, j] != 255:
                continue
            index = np.int64(i * columns + j)
            there = 1 if state[i, j] == 1 else 0
            back = (k + 4) % 8
            if (there, z[i, j], index) > (here, z[r, c], cell):
                rank = 0 if way[i, j] == back else back + 1
                heappush(heap, (there, np.float64(z[i, j]), index, rank, index, back))
            else:
                rank = 0 if way[r, c] == k else k + 1
                heappush(heap, (here, np.float64(z[r, c]), cell, rank, index, back))
    return joined


@compiled
def follow_tree(z, state, direction, order, step_r, step_c, filled, enclosed, accumulation, lowest):
    """Fill down the tree from outside, then gather cells and lowest heights towards it."""
    columns = z.shape[1]
    for n in range(order.size):
        r, c = order[n] // columns, order[n] % columns
        level = z[r, c]
        inside = state[r, c] == 1
        if direction[r, c] != 0:
            k = 0
            while (1 << k) != direction[r, c]:
                k += 1
            i, j = r + step_r[k], c + step_c[k]
            level = max(level, filled[i, j])
            inside = inside or enclosed[i, j]
        filled[r, c] = level
        enclosed[r, c] = inside
        accumulation[r, c] = 0 if state[r, c] == 1 else 1
        lowest[r, c] = np.inf if state[r, c] == 1 else z[r, c]
    for n in range(order.size - 1, -1, -1):
        r, c = order[n] // columns, order[n] % columns
        if direction[r, c] == 0:
            continue
        k = 0
        while (1 << k) != direction[r, c]:
            k += 1
        i, j = r + step_r[k], c + step_c[k]
        accumulation[i, j] += accumulation[r, c]
        lowest[i, j] = min(lowest[i, j], lowest[r, c])
