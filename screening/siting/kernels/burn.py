"""Burn polygons and everything within a distance of segments onto cells, by their centres.

Coordinates are metres from the window's north-west corner, x east and y south, so that cell (row, column) has its
centre at ((column + 0.5) cell_x, (row + 0.5) cell_y). ``mode`` 0 adds the thing's value to the cell's bits, 1 writes
it where the cell is still 0: the first thing wins. A thing with ``own`` of 0 or more burns only cells whose ``lot``
is that; one with a ``level`` burns only cells whose ``ground`` is higher, or unknown.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from screening.jit import compiled

__all__ = ["burn_polygons", "burn_reach"]


@compiled
def burn_span(
    out: Any,
    lot: Any,
    ground: Any,
    row: int,
    first: int,
    last: int,
    value: Any,
    own: int,
    level: float,
    mode: int,
) -> None:
    """Burn cells first..last of a row."""
    if own < 0 and level != level:
        if mode == 0:
            for column in range(first, last + 1):
                out[row, column] |= value
        else:
            for column in range(first, last + 1):
                before = out[row, column]
                out[row, column] = value if before == 0 else before
        return
    for column in range(first, last + 1):
        if own >= 0 and lot[row, column] != own:
            continue
        if level == level and ground[row, column] <= level:
            continue
        if mode == 0:
            out[row, column] |= value
        elif out[row, column] == 0:
            out[row, column] = value


@compiled
def put_in_order(values: Any, start: int, end: int) -> None:
    """Sort the few numbers from ``start`` to ``end`` in place, by insertion."""
    for i in range(start + 1, end):
        value = values[i]
        j = i
        while j > start and values[j - 1] > value:
            values[j] = values[j - 1]
            j -= 1
        values[j] = value


@compiled(allocates=True)
def burn_polygons(
    x: Any,
    y: Any,
    ring_start: Any,
    thing_start: Any,
    value: Any,
    own: Any,
    level: Any,
    mode: int,
    cell_x: float,
    cell_y: float,
    lot: Any,
    ground: Any,
    out: Any,
) -> None:
    """Burn cells whose centre lies inside; rings of one thing cancel where they overlap (even and odd).

    A centre on a western or northern edge is inside, on an eastern or southern one outside: polygons that share
    edges share no cell.

    Parameters
    ----------
    x, y
        Vertices of closed rings, one after another. [m]
    ring_start
        First vertex of each ring, and the end; int64.
    thing_start
        First ring of each thing, and the end; int64.
    value, own, level
        Of each thing: uint32, int32, float64 (NaN without).
    cell_x, cell_y
        Cell size. [m]
    lot, ground, out
        Cells, 2-D: int32, float64, uint32.
    """
    rows, columns = out.shape
    count = np.empty(64, np.int64)
    crossing = np.empty(256, np.float64)
    for thing in range(thing_start.size - 1):
        a, b = ring_start[thing_start[thing]], ring_start[thing_start[thing + 1]]
        if a == b:
            continue
        low, high = np.inf, -np.inf
        for i in range(a, b):
            low = min(low, y[i])
            high = max(high, y[i])
        top = max(0, int(np.ceil(low / cell_y - 0.5)))
        bottom = min(rows - 1, int(np.floor(high / cell_y - 0.5)))
        if top > bottom:
            continue
        if bottom - top + 1 > count.size:
            count = np.empty(2 * (bottom - top + 1), np.int64)
        for i in range(bottom - top + 1):
            count[i] = 0
        for sweep in range(2):
            if sweep == 1:
                # where the crossings of each row begin; each is moved on as its row fills, to where the next begins
                total = 0
                for i in range(bottom - top + 1):
                    total += count[i]
                    count[i] = total - count[i]
                if total > crossing.size:
                    crossing = np.empty(2 * total, np.float64)
            for ring in range(thing_start[thing], thing_start[thing + 1]):
                for i in range(ring_start[ring], ring_start[ring + 1] - 1):
                    y0, y1 = y[i], y[i + 1]
                    if y0 == y1:
                        continue
                    first = max(top, int(np.ceil(min(y0, y1) / cell_y - 0.5)))
                    last = min(bottom, int(np.ceil(max(y0, y1) / cell_y - 0.5)) - 1)
                    for row in range(first, last + 1):
                        if sweep == 1:
                            at = x[i] + ((row + 0.5) * cell_y - y0) / (y1 - y0) * (x[i + 1] - x[i])
                            crossing[count[row - top]] = at
                        count[row - top] += 1
        for row in range(top, bottom + 1):
            start = 0 if row == top else count[row - top - 1]
            end = count[row - top]
            put_in_order(crossing, start, end)
            for i in range(start, end - 1, 2):
                first = max(0, int(np.ceil(crossing[i] / cell_x - 0.5)))
                last = min(columns - 1, int(np.ceil(crossing[i + 1] / cell_x - 0.5)) - 1)
                burn_span(out, lot, ground, row, first, last, value[thing], own[thing], level[thing], mode)


@compiled
def burn_reach(
    x0: Any,
    y0: Any,
    x1: Any,
    y1: Any,
    thing: Any,
    reach: Any,
    value: Any,
    own: Any,
    level: Any,
    mode: int,
    cell_x: float,
    cell_y: float,
    lot: Any,
    ground: Any,
    out: Any,
) -> None:
    """Burn cells whose centre is nearer to a segment than its thing's reach.

    Parameters
    ----------
    x0, y0, x1, y1
        Ends of the segments; a point has both ends in one place. [m]
    thing
        The thing of each segment, int64.
    reach
        Reach of each thing, float64. [m]
    value, own, level, mode, cell_x, cell_y, lot, ground, out
        As for ``burn_polygons``.
    """
    rows, columns = out.shape
    for i in range(x0.size):
        k = thing[i]
        r = reach[k]
        ax, ay, bx, by = x0[i], y0[i], x1[i], y1[i]
        length = np.hypot(bx - ax, by - ay)
        nx, ny = 0.0, 0.0
        if length > 0:
            nx, ny = -(by - ay) / length * r, (bx - ax) / length * r
        top = max(0, int(np.ceil((min(ay, by) - r) / cell_y - 0.5)))
        bottom = min(rows - 1, int(np.floor((max(ay, by) + r) / cell_y - 0.5)))
        for row in range(top, bottom + 1):
            at = (row + 0.5) * cell_y
            west, east = np.inf, -np.inf
            for end in range(2):
                cx, cy = (ax, ay) if end == 0 else (bx, by)
                off = r * r - (at - cy) * (at - cy)
                if off > 0:
                    half = np.sqrt(off)
                    west = min(west, cx - half)
                    east = max(east, cx + half)
            for side in range(-1, 2, 2):
                ya, yb = ay + side * ny, by + side * ny
                if (ya <= at) != (yb <= at):
                    cross = ax + side * nx + (at - ya) / (yb - ya) * (bx - ax)
                    west = min(west, cross)
                    east = max(east, cross)
            if west >= east:
                continue
            first = max(0, int(np.floor(west / cell_x - 0.5)) + 1)
            last = min(columns - 1, int(np.ceil(east / cell_x - 0.5)) - 1)
            burn_span(out, lot, ground, row, first, last, value[k], own[k], level[k], mode)
