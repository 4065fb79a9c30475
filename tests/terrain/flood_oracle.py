"""An independent routing of small grids: Prim's algorithm with a heap over single edges, in plain Python.

It shares nothing with the package but the order of cells (walls after ground, then height, then index) and of the
edges of one cell (the way down first, then by direction).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from heapq import heappop, heappush
from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.grid import Grid

STEPS = [(0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1), (-1, 0), (-1, 1)]


@dataclass
class Answer:
    filled: NDArray[Any]
    direction: NDArray[np.uint8]
    accumulation: NDArray[np.int64]
    conditioned: NDArray[Any]
    hollow_id: NDArray[np.int32]
    hollows: list[tuple[int, int, int, int, int, bool]]
    """First cell, lowest cell, depth, volume, cells, enclosed."""


def crossing_heights(grid: Grid) -> list[list[float]]:
    """Height at which water would cross each cell."""
    z, state = grid.values, grid.state
    rows, columns = grid.shape
    heights = [[float(z[r, c]) for c in range(columns)] for r in range(rows)]
    for r in range(rows):
        for c in range(columns):
            if state[r, c] != 1:
                continue
            around = [(r + a, c + b) for a, b in STEPS]
            if all(0 <= i < rows and 0 <= j < columns and state[i, j] != 3 for i, j in around):
                ground = [float(z[i, j]) for i, j in around if state[i, j] != 1]
                heights[r][c] = max(heights[r][c], min(ground, default=-math.inf))
    return heights


def steepest_ways(grid: Grid, heights: list[list[float]]) -> dict[tuple[int, int], int]:
    """First way of every cell in float64: 0..7, 8 drains out, -1 pit."""
    rows, columns = grid.shape
    state = grid.state
    run = [math.hypot(a * grid.cell_y_m, b * grid.cell_x_m) for a, b in STEPS]
    ways = {}
    for r, c in np.argwhere(state != 3).tolist():
        best: tuple[float, ...] | None = None
        way = -1
        for k, (a, b) in enumerate(STEPS):
            i, j = r + a, c + b
            if not (0 <= i < rows and 0 <= j < columns) or state[i, j] == 3:
                way = 8
                break
            here, there = (int(state[r, c] == 1), heights[r][c], r, c), (int(state[i, j] == 1), heights[i][j], i, j)
            if there >= here:
                continue
            # the steepest, the first of them; from a wall the least
            rank = there if state[r, c] == 1 else (-(here[1] - there[1]) / run[k], k)
            if best is None or rank < best:
                best, way = rank, k
        ways[r, c] = 8 if state[r, c] == 2 else way
    return ways


def flood(grid: Grid) -> Answer:
    """Grow the least tree from outside, one edge at a time."""
    heights, state = crossing_heights(grid), grid.state
    ways = steepest_ways(grid, heights)
    key = {(r, c): (int(state[r, c] == 1), heights[r][c], r, c) for r, c in ways}
    heap: list[tuple[Any, ...]] = [(key[cell], -1, cell, -1) for cell, way in ways.items() if way == 8]
    heap.sort()
    toward: dict[tuple[int, int], int] = {}
    while heap:
        _, _, cell, k = heappop(heap)
        if cell in toward:
            continue
        toward[cell] = k
        for n, (a, b) in enumerate(STEPS):
            other = cell[0] + a, cell[1] + b
            if other not in key or other in toward:
                continue
            back = (n + 4) % 8
            higher, way = (other, back) if key[other] > key[cell] else (cell, n)
            heappush(heap, (key[higher], -1 if ways[higher] == way else way, other, back))
    return _follow(grid, heights, toward)


def _follow(grid: Grid, heights: list[list[float]], toward: dict[tuple[int, int], int]) -> Answer:
    shape, state, z = grid.shape, grid.state, grid.values
    filled = np.full(shape, np.nan, z.dtype)
    low, level = np.full(shape, np.inf, z.dtype), np.full(shape, np.nan)
    shut = np.zeros(shape, bool)
    accumulation = np.zeros(shape, np.int64)
    direction = np.full(shape, 255, np.uint8)
    for cell, k in toward.items():  # the order of joining: from outside inwards
        level[cell], shut[cell] = heights[cell[0]][cell[1]], state[cell] == 1
        if k >= 0:
            there = cell[0] + STEPS[k][0], cell[1] + STEPS[k][1]
            level[cell], shut[cell] = max(level[cell], level[there]), shut[cell] or shut[there]
        filled[cell] = level[cell] if state[cell] != 1 else z[cell]
        direction[cell] = 1 << k if k >= 0 else 0
        if state[cell] != 1:
            accumulation[cell], low[cell] = 1, z[cell]
    for cell, k in reversed(toward.items()):
        if k >= 0:
            there = cell[0] + STEPS[k][0], cell[1] + STEPS[k][1]
            accumulation[there] += accumulation[cell]
            low[there] = min(low[there], low[cell])
    direction[(state == 1) & (accumulation == 0)] = 255
    low = np.where(state == 1, z, np.where(state == 3, np.nan, low)).astype(z.dtype)
    inside = ((state == 0) | (state == 2)) & ((filled > z) | shut)
    number, hollows = _hollows(z, filled, inside, shut)
    return Answer(filled, direction, accumulation, low, number, hollows)


def _hollows(
    z: NDArray[Any], filled: NDArray[Any], inside: NDArray[np.bool_], shut: NDArray[np.bool_]
) -> tuple[NDArray[np.int32], list[tuple[int, int, int, int, int, bool]]]:
    """Group the cells of hollows by flood and measure the groups."""
    number = np.zeros(z.shape, np.int32)
    table = []
    for cell in map(tuple, np.argwhere(inside).tolist()):
        if number[cell]:
            continue
        number[cell] = len(table) + 1
        group, front = [cell], [cell]
        while front:
            r, c = front.pop()
            for a, b in STEPS:
                other = r + a, c + b
                ok = 0 <= other[0] < z.shape[0] and 0 <= other[1] < z.shape[1]
                if ok and inside[other] and not number[other]:
                    number[other] = len(table) + 1
                    group.append(other)
                    front.append(other)
        depths = [math.floor((float(filled[g]) - float(z[g])) * 65536 + 0.5) for g in group]
        place = [r * z.shape[1] + c for r, c in group]
        lowest = min((float(z[g]), p) for g, p in zip(group, place, strict=True))[1]
        table.append((min(place), lowest, max(depths), sum(depths), len(group), bool(shut[cell])))
    return number, table
