"""Water that gardens capture in the draws, and what a lot's second one keeps, where the rules allow two."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from screening.rules import Rules
from screening.water.run_on import with_run_on_m3

__all__ = ["drawn_captured_m3", "marked_rows", "second_kept_m3"]

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


def drawn_captured_m3(area_m2: Floats, held_mm: Floats, roof: Floats, run_on_m3: Floats | None, rules: Rules) -> Floats:
    """Roof water that gardens capture in the storm, in each draw [m3].

    Parameters
    ----------
    area_m2
        Roof and paving led, as digitized. [m2]
    held_mm, roof
        Rain that the garden holds [mm], and the true area over the digitized one.
    run_on_m3
        What lawn sheds into it, NaN where not known; None where the rules do not ask. [m3]
    rules
        Storm and runoff coefficient.
    """

    def volume(rain_mm: Floats) -> Floats:
        return np.asarray(rules.runoff_coefficient * (rain_mm / 1000.0) * area_m2 * roof)

    captured = volume(np.minimum(rules.storm_depth_mm, held_mm))
    if run_on_m3 is None:
        return captured
    return with_run_on_m3(captured, volume(np.full_like(held_mm, rules.storm_depth_mm)), volume(held_mm), run_on_m3)


def second_kept_m3(
    numbers: Mapping[str, Floats],
    second: Integers,
    stands: NDArray[np.bool_],
    depth_mm: Floats,
    roof: Floats,
    rules: Rules,
    run_on_m3: Floats | None = None,
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
    run_on_m3
        What lawn sheds into each candidate; None where the rules do not ask. Not known, nothing is kept.
    """
    area = np.where(second >= 0, np.nan_to_num(numbers["draining_area_m2"])[second], 0.0)
    share = np.where(second >= 0, np.nan_to_num(numbers["kept_share"])[second], 0.0)
    if run_on_m3 is None:
        held = np.minimum(rules.storm_depth_mm, depth_mm) / 1000.0
        return np.where(stands, rules.runoff_coefficient * held * (area * share)[:, None] * roof, 0.0)
    captured = drawn_captured_m3(area[:, None], depth_mm, roof, run_on_m3[second][:, None], rules)
    return np.where(stands, np.nan_to_num(captured * share[:, None]), 0.0)
