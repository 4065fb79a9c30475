"""Finish a tile: levels of its basins, carved ways, filled heights, accumulation."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.jit import compiled
from screening.terrain.kernels.basins import leaves, rim_cell
from screening.terrain.kernels.contract import reroot

Array = NDArray[Any]


@compiled
def hang_parts(
    label: Array, step: Array, cells: Array, ways: Array, tops: Array, crosses: Array, levels: Array, shut: Array,
    up_cell: Array, up_k: Array, up_top: Array, up: Array, level: Array, enclosed: Array, hollow: Array,
) -> None:  # fmt: skip
    """Hang each part of a tile by its edge towards the root; those that leave the tile bring their level with them."""
    hollow[:] = -1
    level[0], enclosed[0], hollow[0] = -np.inf, False, 0
    for n in range(cells.size):
        cell, k, basin = np.int64(cells[n]), np.int64(ways[n]), np.int64(label[cells[n]])
        beyond = np.int64(-1) if crosses[n] else np.int64(label[cell + step[k]])
        reroot(basin, cell, k, tops[n], beyond, step, up_cell, up_k, up_top, up)
        if crosses[n]:
            level[basin], enclosed[basin], hollow[basin] = levels[n], shut[n], basin


@compiled
def basin_levels(
    state: Array, r0: int, c0: int, columns: int, walls: bool, step: Array, up_cell: Array, up_k: Array, up_top: Array,
    up: Array, level: Array, enclosed: Array, hollow: Array, stack: Array,
) -> None:  # fmt: skip
    """Carry level, enclosure and the number of the hollow down every basin's tree.

    ``hollow`` comes filled with -1; basin 0 and the basins that hang by an edge out of the tile come with their level
    and enclosure, and with hollow set to their own number. A basin shares the hollow of the next one when water
    passes to it below their level, or within the same enclosed ground.
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
            through = False
            if walls:
                a = up_cell[x]
                v = a + step[up_k[x]]
                through = state[r0 + a // columns, c0 + a % columns] == 1
                through = through or state[r0 + v // columns, c0 + v % columns] == 1
            level[x] = max(up_top[x], level[up[x]])
            enclosed[x] = through or enclosed[up[x]]
            same = not through if enclosed[x] else up_top[x] < level[x]
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
    z: Array, state: Array, r0: int, c0: int, label: Array, level: Array, feeders: Array, filled: Array, fr: int,
    fc: int, flow: Array,
) -> None:  # fmt: skip
    """Write the filled heights of a tile at (fr, fc) of ``filled``, and what each cell starts the accumulation with.

    That is 16 for a cell of ground plus the number of its feeders, so that one addition does for both.
    """
    columns = feeders.shape[1]
    for r in range(feeders.shape[0]):
        states, heights, first = state[r0 + r], z[r0 + r], r * columns
        for c in range(columns):
            s, h = states[c0 + c], heights[c0 + c]
            f = max(h, level[label[first + c]])
            f = h if s == 1 else f
            filled[fr + r, fc + c] = np.nan if s == 3 else f
            flow[first + c] = np.int64(feeders[r, c]) + (0 if s & 1 else 16)


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
def onward_cells(way: Array, step: Array, onward: Array) -> None:
    """Write the next cell of each cell; the number of cells where its way leaves the tile or ends."""
    for cell in range(way.size):
        onward[cell] = cell + step[way[cell]] if way[cell] < 8 else way.size


@compiled
def accumulate(onward: Array, flow: Array, queue: Array) -> int:
    """Add every cell's flow to all cells downstream; return the cells done, which are fewer only on a circle.

    ``flow`` holds sixteen times what a cell adds plus the number of cells that feed it; a cell whose feeders are done
    joins the queue. Place ``onward.size`` of flow takes what leaves. Written without branches that depend on the
    ground.
    """
    cells = onward.size
    last = 0
    for cell in range(cells):
        queue[last] = cell
        last += 1 if flow[cell] & 15 == 0 else 0
    first = 0
    while first < last:
        cell = queue[first]
        first += 1
        there = onward[cell]
        total = flow[there] + (flow[cell] | 15) - 16  # one feeder less
        flow[there] = total
        queue[last] = there
        last += 1 if total & 15 == 0 and there < cells else 0
    return last


@compiled
def accumulate_low(onward: Array, flow: Array, queue: Array, low: Array) -> None:
    """As `accumulate`, and carry the lowest height met so far downstream as well."""
    cells = onward.size
    last = 0
    for cell in range(cells):
        queue[last] = cell
        last += 1 if flow[cell] & 15 == 0 else 0
    first = 0
    while first < last:
        cell = queue[first]
        first += 1
        there = onward[cell]
        total = flow[there] + (flow[cell] | 15) - 16
        flow[there] = total
        low[there] = min(low[there], low[cell])
        queue[last] = there
        last += 1 if total & 15 == 0 and there < cells else 0


@compiled
def start_low(z: Array, state: Array, r0: int, c0: int, columns: int, low: Array) -> None:
    """Give every cell of ground its height, others infinity."""
    for r in range(low.size // columns):
        for c in range(columns):
            s, h = state[r0 + r, c0 + c], z[r0 + r, c0 + c]
            low[r * columns + c] = np.inf if s & 1 else h


@compiled
def add_inflows(cells: Array, masses: Array, lows: Array, flow: Array, low: Array) -> None:
    """Add what comes in from other tiles; ``low`` may be empty."""
    for n in range(cells.size):
        flow[cells[n]] += masses[n] << 4
        if low.size > 0:
            low[cells[n]] = min(low[cells[n]], lows[n])


@compiled
def write_codes(
    way: Array, code_of: Array, state: Array, r0: int, c0: int, flow: Array, direction: Array, accumulation: Array,
    fr: int, fc: int,
) -> None:  # fmt: skip
    """Write direction codes and accumulation of a tile at (fr, fc); ``code_of`` is the code of each way."""
    rows, columns = way.shape
    for r in range(rows):
        states, ways, first = state[r0 + r], way[r], r * columns
        codes, totals = direction[fr + r], accumulation[fr + r]
        for c in range(columns):
            totals[fc + c] = flow[first + c] >> 4
        for c in range(columns):
            dry = states[c0 + c] & 1 and flow[first + c] < 16
            codes[fc + c] = 255 if dry else code_of[ways[c]]


@compiled
def write_carved(
    z: Array, state: Array, r0: int, c0: int, columns: int, low: Array, surface: Array, fr: int, fc: int
) -> None:
    """Write the carved surface: each cell of ground as low as the lowest that drains through it."""
    for r in range(low.size // columns):
        for c in range(columns):
            s = state[r0 + r, c0 + c]
            h = z[r0 + r, c0 + c] if s == 1 else low[r * columns + c]
            surface[fr + r, fc + c] = np.nan if s == 3 else h
