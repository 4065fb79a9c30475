"""Numbers of colours for parts of a plane, so that parts side by side differ."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["COLOURS", "neighbour_colours", "side_by_side"]

COLOURS: Final = 6
"""Colours that suffice for any map whose parts are each in one piece, the part with fewest neighbours coloured last."""


def side_by_side(labels: NDArray[np.int32]) -> NDArray[np.int32]:
    """Pairs of labels that share a side of a cell.

    Parameters
    ----------
    labels
        Labels from 1, shape (rows, columns); 0 is no label.

    Returns
    -------
    numpy.ndarray
        Each pair once, the smaller first, in order, shape (n, 2).
    """
    pairs = []
    for one, other in ((labels[:, :-1], labels[:, 1:]), (labels[:-1], labels[1:])):
        met = (one != other) & (one > 0) & (other > 0)
        pairs.append(np.column_stack([one[met], other[met]]))
    return np.unique(np.sort(np.concatenate(pairs), axis=1), axis=0)


def neighbour_colours(count: int, pairs: NDArray[np.integer], colours: int = COLOURS) -> NDArray[np.int64]:
    """A colour for each of some parts, from 1; few are used.

    The part with fewest neighbours left is taken away until none is left; in the reverse of that order (Matula and Beck
    1983, doi:10.1145/2402.322385) each gets the first colour that no neighbour has, or where all are taken the one
    that fewest neighbours have.

    Parameters
    ----------
    count
        How many parts.
    pairs
        Parts that are neighbours, numbers from 0, shape (n, 2).
    colours
        How many colours there are.

    Returns
    -------
    numpy.ndarray
        Numbers from 1 to ``colours``, shape (count,).
    """
    neighbours: list[set[int]] = [set() for _ in range(count)]
    for one, other in pairs.tolist():
        neighbours[one].add(other)
        neighbours[other].add(one)
    out = np.zeros(count, dtype=np.int64)
    for part in reversed(_fewest_first(neighbours)):
        taken = np.bincount(out[list(neighbours[part])], minlength=colours + 1)[1:]
        out[part] = int(np.argmin(taken)) + 1
    return out


def _fewest_first(neighbours: list[set[int]]) -> list[int]:
    """Parts in the order of being taken away, of equals the first."""
    left = {part: len(beside) for part, beside in enumerate(neighbours)}
    by_count: list[set[int]] = [set() for _ in range(max(left.values(), default=0) + 1)]
    for part, number in left.items():
        by_count[number].add(part)
    order = []
    while left:
        fewest = next(parts for parts in by_count if parts)
        part = min(fewest)
        fewest.remove(part)
        del left[part]
        order.append(part)
        for beside in neighbours[part]:
            if beside in left:
                by_count[left[beside]].remove(beside)
                left[beside] -= 1
                by_count[left[beside]].add(beside)
    return order
