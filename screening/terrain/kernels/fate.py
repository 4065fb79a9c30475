"""Follow directions to where water ends."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.jit import compiled
from screening.terrain.kernels.basins import leaves, rim_cell

Array = NDArray[Any]


@compiled
def trace_fates(
    direction: Array, labels: Array, steps: Array, include_self: bool, label: Array, end: Array, trail: Array
) -> bool:
    """Write for every cell the first label met downstream and the cell where its water ends.

    ``direction``, ``labels``, ``label`` and ``end`` are flat; ``steps`` holds the change of linear index for each
    code; ``end`` must come filled with -2, but for cells whose fate is known; ``trail`` is a stack as long as the
    raster. Returns False on a cycle.
    """
    for start in range(direction.size):
        if end[start] != -2:
            continue
        cell = start
        depth = 0
        while end[cell] == -2:
            if direction[cell] == 255:
                end[cell] = -1
                label[cell] = labels[cell] if include_self else 0
            elif direction[cell] == 0:
                end[cell] = cell
                label[cell] = labels[cell] if include_self else 0
            else:
                end[cell] = -3
                trail[depth] = cell
                depth += 1
                cell += steps[direction[cell]]
        if end[cell] == -3:
            return False
        while depth > 0:
            depth -= 1
            above = trail[depth]
            end[above] = end[cell]
            if include_self:
                label[above] = labels[above] if labels[above] != 0 else label[cell]
            else:
                label[above] = labels[cell] if labels[cell] != 0 else label[cell]
            cell = above
    return True


@compiled
def start_accumulation(direction: Array, steps: Array, weights: Array, onward: Array, flow: Array) -> None:
    """Prepare `kernels.finish.accumulate` for a whole raster; all arrays are flat, ``flow`` one longer."""
    for cell in range(direction.size):
        flow[cell] = np.int64(weights[cell]) << 4
        onward[cell] = direction.size
        if direction[cell] != 0 and direction[cell] != 255:
            onward[cell] = cell + steps[direction[cell]]
    flow[direction.size] = 0
    for cell in range(direction.size):
        if onward[cell] < direction.size:
            flow[onward[cell]] += 1


@compiled
def trace_path(direction: Array, steps: Array, start: int, path: Array) -> int:
    """Write the cells from ``start`` to where its water ends; return how many, -1 on a cycle."""
    cell = start
    count = 0
    while True:
        if count == path.size:
            return -1
        path[count] = cell
        count += 1
        if direction[cell] == 0 or direction[cell] == 255:
            return count
        cell += steps[direction[cell]]


@compiled
def mark_exits(direction: Array, rows: int, columns: int, end: Array, exits: Array) -> int:
    """List the cells of a tile whose direction leads out of it; return how many.

    ``end`` comes filled with -2 and gets -10 less its number at each.
    """
    count = 0
    for q in range(2 * (rows + columns)):
        cell = rim_cell(q, rows, columns)
        code = direction[cell]
        if end[cell] != -2 or code == 0 or code == 255:
            continue
        k = 0
        while not (code >> k) & 1:
            k += 1
        if leaves(cell, k, rows, columns):
            exits[count] = cell
            end[cell] = -10 - count
            count += 1
    return count


@compiled
def resolve_rims(onward: Array, label: Array, end: Array, trail: Array) -> bool:
    """Follow each rim cell's water from tile to tile, in place.

    ``onward`` is the place on some rim where the water goes on, -1 where it ends in the tile. Returns False on a cycle.
    """
    for start in range(onward.size):
        place = start
        depth = 0
        while onward[place] >= 0:
            if depth == trail.size:
                return False
            trail[depth] = place
            depth += 1
            place = onward[place]
        while depth > 0:
            depth -= 1
            above = trail[depth]
            end[above] = end[place]
            if label[above] == 0:
                label[above] = label[place]
            onward[above] = -1
            place = above
    return True
