"""Arcs: which of a cell's lower neighbours are linked to one another round the ring of eight."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["EDGES", "edge_directions", "ring_arcs"]


def ring_arcs(mask: int) -> list[int]:
    """Split a ring mask into the bits of its arcs, the arc with the lowest direction first.

    Two neighbours of a cell touch when they are consecutive, or both cardinal and two apart; an arc is a group that
    hangs together by touching.
    """
    arcs: list[int] = []
    left = [k for k in range(8) if mask >> k & 1]
    while left:
        group = [left.pop(0)]
        for k in group:
            touching = [m for m in left if _touch(k, m)]
            group.extend(touching)
            left = [m for m in left if m not in touching]
        arcs.append(sum(1 << k for k in group))
    return arcs


def _touch(a: int, b: int) -> bool:
    apart = min((a - b) % 8, (b - a) % 8)
    return apart == 1 or (apart == 2 and a % 2 == 0)


def edge_directions(mask: int, way: int) -> list[int]:
    """Directions of the edges that a cell with these lower neighbours and this way (8 for none) may add.

    Of an arc only the lowest direction matters, as every other edge is the greatest of a circle; of the arc that the
    way leads into not even that.
    """
    arcs = [arc for arc in ring_arcs(mask) if way > 7 or not arc >> way & 1]
    return [(arc & -arc).bit_length() - 1 for arc in arcs]


def _table() -> NDArray[np.uint16]:
    table = np.full((256, 16), 0xFFFF, np.uint16)
    for mask in range(256):
        for way in range(9):
            for place, k in enumerate(edge_directions(mask, way)):
                table[mask, way] &= np.uint16(0xFFFF ^ ((0xF ^ k) << 4 * place))
    return table.reshape(-1)


EDGES = _table()
"""`edge_directions` of every mask and way at 16 mask + way: up to four, four bits each, 15 after the last."""
