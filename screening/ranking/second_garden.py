"""Water that a lot's second garden keeps in the draws, where the rules allow two."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from screening.rules import Rules

__all__ = ["marked_rows", "second_kept_m3"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


def marked_rows(marked: NDArray[np.bool_], first: Integers) -> Integers:
    """Row of the marked candidate of each lot, -1 where none is.

    Parameters
    ----------
    marked
        Of each candidate, sorted by lot.
    first
        Row of each lot's first candidate.
    """
    if not len(first):
        return np.zeros(0, dtype=np.int64)
    return np.maximum.reduceat(np.where(marked, np.arange(len(marked)), -1), first).astype(np.int64)


def second_kept_m3(
    numbers: Mapping[str, Floats],
    second: Integers,
    stands: NDArray[np.bool_],
    depth_mm: Floats,
    roof: Floats,
    rules: Rules,
) -> Floats:
    """Water kept in the storm by second gardens, shape (lots, draws) [m3].

    Parameters
    ----------
    numbers
        ``draining_area_m2`` and ``kept_share`` of all candidates.
    second
        Candidate of each lot's second garden, -1 where there is none.
    stands
        Draws in which the first garden stands at the lot's spot and the second is feasible, shape (lots, draws).
    depth_mm, roof
        Rain that it holds, and the true area over the digitized one, shape (lots, draws).
    rules
        Storm and runoff coefficient.
    """
    area = np.where(second >= 0, np.nan_to_num(numbers["draining_area_m2"])[second], 0.0)
    share = np.where(second >= 0, np.nan_to_num(numbers["kept_share"])[second], 0.0)
    held = np.minimum(rules.storm_depth_mm, depth_mm) / 1000.0
    return np.where(stands, rules.runoff_coefficient * held * (area * share)[:, None] * roof, 0.0)
