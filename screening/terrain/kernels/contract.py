"""Join the basins of a tile as far as the tile alone can tell, in the order of the edges."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.jit import compiled

Array = NDArray[Any]


@compiled
def sortable(bits: Array) -> None:
    """Turn the bits of float64 numbers, in place, into unsigned numbers of the same order."""
    top = np.uint64(1) << np.uint64(63)
    for q in range(bits.size):
        bits[q] = ~bits[q] if bits[q] & top else bits[q] | top


@compiled(allocates=True)
def radix_order(bits: Array, order: Array, spare_bits: Array, spare_order: Array) -> None:
    """Sort ``order`` by the unsigned numbers that stand beside it in ``bits``, stably, eleven bits at a time."""
    count = order.size
    tally = np.zeros((6, 2048), np.int64)
    for q in range(count):
        for d in range(6):
            tally[d, (bits[q] >> np.uint64(11 * d)) & np.uint64(2047)] += 1
    for d in range(6):
        if count == 0 or tally[d, (bits[0] >> np.uint64(11 * d)) & np.uint64(2047)] == count:
            continue
        place = 0
        for v in range(2048):
            place, tally[d, v] = place + tally[d, v], place
        for q in range(count):
            digit = (bits[q] >> np.uint64(11 * d)) & np.uint64(2047)
            spare_bits[tally[d, digit]] = bits[q]
            spare_order[tally[d, digit]] = order[q]
            tally[d, digit] += 1
        for q in range(count):  # no slices here: numba compiles seconds of message formatting for them
            bits[q] = spare_bits[q]
            order[q] = spare_order[q]


@compiled
def find(parent: Array, x: int) -> int:
    """Return the root of a set, halving the path on the way."""
    while parent[x] != x:
        parent[x] = parent[parent[x]]
        x = parent[x]
    return x


@compiled
def reroot(
    basin: Any, cell: Any, k: Any, top: Any, beyond: Any, step: Array, up_cell: Array, up_k: Array, up_top: Array,
    up: Array,
) -> None:  # fmt: skip
    """Make ``basin`` the root of its tree and hang it by the edge from ``cell`` in direction ``k`` to ``beyond``."""
    while basin >= 0:
        next_basin, old_cell, old_k = np.int64(up[basin]), np.int64(up_cell[basin]), np.int64(up_k[basin])
        old_top = np.float64(up_top[basin])
        up[basin], up_cell[basin], up_k[basin], up_top[basin] = beyond, cell, k, top
        if next_basin < 0:
            return
        beyond, cell, k, top = basin, old_cell + step[old_k], (old_k + 4) % 8, old_top
        basin = next_basin


@compiled
def contract(
    order: Array, cell_of: Array, k_of: Array, pair: Array, top: Array, step: Array, anchored: Array, parent: Array,
    group: Array, size: Array, up_cell: Array, up_k: Array, up_top: Array, up: Array, uncertain: Array,
) -> int:  # fmt: skip
    """Join basins along the edges in their order; list the edges that only the whole raster can judge.

    ``anchored`` comes set for basin 0 and those on the rim. A part without one of them takes its least edge for
    certain; two parts with one each may be joined elsewhere, so their edge is uncertain. An edge between parts that
    lesser edges already join, certain or not, is the greatest of a circle and dropped.
    """
    for b in range(parent.size):
        parent[b], group[b], size[b] = b, b, 1
        up_cell[b], up_k[b], up[b] = -1, 0, -1
    count = 0
    for q in range(order.size):
        both = pair[order[q]]
        near, far = both >> 32, both & 0xFFFFFFFF
        x, y = find(parent, near), find(parent, far)
        if x == y:
            continue
        gx, gy = find(group, x), find(group, y)
        if gx == gy:
            continue
        group[gx] = gy
        if anchored[x] and anchored[y]:
            uncertain[count] = order[q]
            count += 1
            continue
        # one type for each argument, so that numba compiles `reroot` once
        a, k = np.int64(cell_of[order[q]]), np.int64(k_of[order[q]])
        height = np.float64(top[order[q]])
        if anchored[x] or (not anchored[y] and size[x] > size[y]):
            reroot(far, a + step[k], (k + 4) % 8, height, near, step, up_cell, up_k, up_top, up)
        else:
            reroot(near, a, k, height, far, step, up_cell, up_k, up_top, up)
        small, large = (x, y) if size[x] < size[y] else (y, x)
        parent[small] = large
        size[large] += size[small]
        anchored[large] = anchored[x] | anchored[y]
    return count


@compiled
def number_parts(anchors: Array, parent: Array, node: Array, part: Array) -> int:
    """Number the basins that hold a part (``anchors``) from 1; write the number for each basin; return how many."""
    count = 0
    for b in range(1, parent.size):
        if anchors[b]:
            count += 1
            node[find(parent, b)] = count
    node[find(parent, 0)] = 0
    for b in range(parent.size):
        part[b] = node[find(parent, b)]
    return count
