"""Arcs: which of a cell's lower neighbours are linked to one another round the ring of eight."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["ARCS", "ring_arcs"]


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


def _table() -> NDArray[np.uint8]:
    table = np.zeros((256, 4), np.uint8)
    for mask in range(256):
        arcs = ring_arcs(mask)
        table[mask, : len(arcs)] = arcs
    return table


ARCS = _table()
"""Bits of the arcs of every ring mask, at most four, 0 after the last; shape (256, 4)."""
