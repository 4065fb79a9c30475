"""Follow directions to where water ends."""

from __future__ import annotations

from typing import Any

from numpy.typing import NDArray

from screening.jit import compiled

Array = NDArray[Any]


@compiled
def trace_fates(
    direction: Array, labels: Array, steps: Array, include_self: bool, label: Array, end: Array, trail: Array
) -> bool:
    """Write for every cell the first label met downstream and the cell where its water ends.

    ``direction``, ``labels``, ``label`` and ``end`` are flat; ``steps`` holds the change of linear index for each
    code; ``end`` must come filled with -2; ``trail`` is a stack as long as the raster. Returns False on a cycle.
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
