"""Five classes of suitability from the scores of one run."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

__all__ = ["CLASSES", "suitability_breaks"]

CLASSES: Final = 5
_STEP: Final = 500


def suitability_breaks(scores: Any) -> tuple[int, ...]:
    """Scores at which a class begins, from the second class on.

    Fifths of the scored lots, each moved to the nearest five points of a hundred so that the legend reads well; where
    scores lie too close for that, steps of five points around them.

    Parameters
    ----------
    scores
        Scores 0 to 10000, missing where a lot has none.

    Returns
    -------
    tuple
        Four rising scores.
    """
    known = np.sort(scores.dropna().to_numpy(dtype=np.int64))
    if known.size == 0:
        return (2000, 4000, 6000, 8000)
    wanted = [int(known[min(known.size * part // CLASSES, known.size - 1)]) for part in range(1, CLASSES)]
    steps = [(score + _STEP // 2) // _STEP for score in wanted]
    for at in range(1, len(steps)):
        steps[at] = max(steps[at], steps[at - 1] + 1)
    most = 10_000 // _STEP - 1
    for at in range(len(steps) - 1, -1, -1):
        steps[at] = min(steps[at], most - (len(steps) - 1 - at))
    steps[0] = max(steps[0], 1)
    for at in range(1, len(steps)):
        steps[at] = max(steps[at], steps[at - 1] + 1)
    return tuple(step * _STEP for step in steps)
