"""Finish a tile: levels of its basins, carved ways, filled heights, accumulation."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.jit import compiled
from screening.terrain.kernels.basins import leaves, rim_cell
from screening.terrain.kernels.contract import reroot
from screening.terrain.kernels.ways import crossing_height

Array = NDArray[Any]


@compiled
def hang_parts(
    label: Array,
    step: Array,
    cells: Array,
    ways: Array,
    crosses: Array,
    levels: Array,
    shut: Array,
    up_cell: Array,
    up_k: Array,
    up: Array,
    level: Array,
    enclosed: Array,
    hollow: Array,
) -> None:
    """Hang each part of a tile by its edge towards the root; those that leave the tile bring their level with them."""
    hollow[:] = -1
    level[0], enclosed[0], hollow[0] = -np.inf, False, 0
    for n in range(cells.size):
        basin = label[cells[n]]
        beyond = -1 if crosses[n] else label[cells[n] + step[ways[n]]]
        reroot(basin, cells[n], ways[n], beyond, step, up_cell, up_k, up)
        if crosses[n]:
            level[basin], enclosed[basin], hollow[basin] = levels[n], shut[n], basin


@compiled
def basin_levels(
    z: Array,
    state: Array,
    r0: int,
    c0: int,
    columns: int,
    step_r: Array,
    step_c: Array,
    step: Array,
    up_cell: Array,
    up_k: Array,
    up: Array,
    level: Array,
    enclosed: Array,
    hollow: Array,
    stack: Array,
) -> None:
    """Carry level, enclosure and the number of the hollow down every basin's tree.

    A basin shares the hollow of the next one when water passes to it below their level, or within the same enclosed
    ground.
    """
    for b in range(up.size):
        x, depth = b, 0
        while hollow[x] < 0:
            stack[depth] = x
            depth += 1
            x = up[x]
        while depth > 0:
            depth -= 1
            x = stack[depth]
            a = up_cell[x]
            v = a + step[up_k[x]]
            ar, ac, vr, vc = r0 + a // columns, c0 + a % columns, r0 + v // columns, c0 + v % columns
            through = state[ar, ac] == 1 or state[vr, vc] == 1
            top = max(z[ar, ac], z[vr, vc])
            if through:
                here = crossing_height(z, state, ar, ac, step_r, step_c)
                top = max(here, crossing_height(z, state, vr, vc, step_r, step_c))
            level[x] = max(top, level[up[x]])
            enclosed[x] = through or enclosed[up[x]]
            same = not through if enclosed[x] else top < level[x]
            hollow[x] = hollow[up[x]] if same else x


@compiled
def carve_ways(way: Array, rows: int, columns: int, step: Array, sink: Array, up_cell: Array, up_k: Array) -> None:
    """Turn round the ways from each basin's pass to its sink; mark ways out of the tile by adding 16."""
    for b in range(1, sink.size):
        cell, k = up_cell[b], up_k[b]
        while True:
            old = way[cell]
            way[cell] = k
            if cell == sink[b]:
                break
            cell += step[old]
            k = (old + 4) % 8
    for q in range(2 * (rows + columns)):
        cell = rim_cell(q, rows, columns)
        if way[cell] < 8 and leaves(cell, way[cell], rows, columns):
            way[cell] += 16


@compiled
def fill_cells(
    z: Array, state: Array, r0: int, c0: int, label: Array, columns: int, level: Array, filled: Array, fr: int, fc: int
) -> None:
    """Write the filled heights of a tile at (fr, fc) of ``filled``."""
    for r in range(label.size // columns):
        for c in range(columns):
            s = state[r0 + r, c0 + c]
            h = z[r0 + r, c0 + c]
            top = level[label[r * columns + c]]
            f = max(h, top) if s != 1 else h
            filled[fr + r, fc + c] = f if s != 3 else np.nan


@compiled
def count_inflows(way: Array, rows: int, columns: int, feeders: Array) -> None:
    """Count for every cell of a tile the neighbours in the tile whose way leads to it; written for vector code."""
    feeders[:, :] = 0
    for r in range(rows):
        for d in range(-1, 2):
            if r + d < 0 or r + d >= rows:
                continue
            src, dst = way[r + d], feeders[r]
            from_west = 0 if d == 0 else (7 if d == 1 else 1)
            from_here = 6 if d == 1 else 2
            from_east = 4 if d == 0 else (5 if d == 1 else 3)
            for c in range(1, columns):
                dst[c] += np.uint8(1) if src[c - 1] == from_west else np.uint8(0)
            if d != 0:
                for c in range(columns):
                    dst[c] += np.uint8(1) if src[c] == from_here else np.uint8(0)
            for c in range(columns - 1):
                dst[c] += np.uint8(1) if src[c + 1] == from_east else np.uint8(0)


@compiled
def accumulate(way: Array, step: Array, feeders: Array, flow: Array) -> None:
    """Add every cell's flow to all cells downstream; ``flow`` comes with what each cell adds itself."""
    for source in range(way.size):
        if feeders[source] != 0:
            continue
        cell = source
        while way[cell] < 8:
            there = cell + step[way[cell]]
            flow[there] += flow[cell]
            feeders[there] -= 1
            if feeders[there] != 0:
                break
            feeders[there] = 255
            cell = there


@compiled
def accumulate_low(way: Array, step: Array, feeders: Array, flow: Array, low: Array) -> None:
    """As `accumulate`, and carry the lowest height met so far downstream as well."""
    for source in range(way.size):
        if feeders[source] != 0:
            continue
        cell = source
        while way[cell] < 8:
            there = cell + step[way[cell]]
            flow[there] += flow[cell]
            low[there] = min(low[there], low[cell])
            feeders[there] -= 1
            if feeders[there] != 0:
                break
            feeders[there] = 255
            cell = there


@compiled
def start_flow(state: Array, r0: int, c0: int, columns: int, cells: Array, masses: Array, flow: Array) -> None:
    """Give every cell of ground itself to drain, and what comes in from other tiles."""
    for r in range(flow.size // columns):
        for c in range(columns):
            s = state[r0 + r, c0 + c]
            flow[r * columns + c] = 1 if s == 0 or s == 2 else 0
    for n in range(cells.size):
        flow[cells[n]] += masses[n]


@compiled
def start_low(z: Array, state: Array, r0: int, c0: int, columns: int, cells: Array, lows: Array, low: Array) -> None:
    """Give every cell of ground its height, and the lowest that comes in from other tiles."""
    for r in range(low.size // columns):
        for c in range(columns):
            s = state[r0 + r, c0 + c]
            low[r * columns + c] = z[r0 + r, c0 + c] if s == 0 or s == 2 else np.inf
    for n in range(cells.size):
        low[cells[n]] = min(low[cells[n]], lows[n])


@compiled
def write_codes(
    way: Array, state: Array, r0: int, c0: int, flow: Array, direction: Array, accumulation: Array, fr: int, fc: int
) -> None:
    """Write direction codes and accumulation of a tile at (fr, fc)."""
    rows, columns = way.shape
    for r in range(rows):
        for c in range(columns):
            w = np.int64(way[r, c])
            code = 1 << (w & 7) if w & 8 == 0 else 0
            s = state[r0 + r, c0 + c]
            total = flow[r * columns + c]
            direction[fr + r, fc + c] = 255 if s == 3 or (s == 1 and total == 0) else code
            accumulation[fr + r, fc + c] = total if s != 3 else 0


@compiled
def write_carved(
    z: Array, state: Array, r0: int, c0: int, columns: int, low: Array, surface: Array, fr: int, fc: int
) -> None:
    """Write the carved surface: each cell of ground as low as the lowest that drains through it."""
    for r in range(low.size // columns):
        for c in range(columns):
            s = state[r0 + r, c0 + c]
            h = low[r * columns + c] if s != 1 else z[r0 + r, c0 + c]
            surface[fr + r, fc + c] = h if s != 3 else np.nan
