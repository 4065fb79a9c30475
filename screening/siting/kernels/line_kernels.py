"""The line of gardens that a lot could have: which comes next, and which are no better than one already taken."""

from __future__ import annotations

from typing import Any

from screening.jit import compiled
from screening.siting.kernels.centre_kernels import MOST_LEADS

__all__ = ["DETAILS", "EXACT", "JUDGED", "ROUGH", "USED", "dominated", "next_in_line"]

DETAILS = 32
"""Numbers kept of a garden: fourteen of ``best_shape``; row and column of its mask cell, whether it lies between
their centres; water, mean run and slope, as they are compared; downspouts led (-1 none) and how, six each."""

ROUGH, EXACT, JUDGED, USED = 0, 1, 2, 3
"""Room from mask cells; room from segments; that, and where the overflow goes is known; done with."""


@compiled
def _shares_lead(one: Any, other: Any) -> bool:
    """Whether two gardens are led any downspout in common."""
    for j in range(MOST_LEADS):
        for k in range(MOST_LEADS):
            if one[20 + j] >= 0.0 and one[20 + j] == other[20 + k]:
                return True
    return False


@compiled
def next_in_line(
    keys: Any, state: Any, count: int, records: Any, most_key: int, chosen: Any, taken: int, far: float, second: bool
) -> int:
    """Number of the smallest key below a bound, not used, and far enough from those chosen; -1 where there is none.

    ``second``: one that is led none of the downspouts of the first.
    """
    best = -1
    for i in range(count):
        if state[i] == USED or keys[i] >= most_key or (best >= 0 and keys[i] >= keys[best]):
            continue
        if second and _shares_lead(records[i], records[chosen[0]]):
            continue
        near = False
        if far > 0.0:
            for j in range(taken):
                dx = records[i, DETAILS] - records[chosen[j], DETAILS]
                dy = records[i, DETAILS + 1] - records[chosen[j], DETAILS + 1]
                near = near or dx * dx + dy * dy < far * far
        if not near:
            best = i
    return best


@compiled
def dominated(new: Any, records: Any, chosen: Any, taken: int) -> bool:
    """Whether one of those chosen is as good in water, room, run, fall and slope."""
    for i in range(taken):
        old = records[chosen[i]]
        if (
            old[17] >= new[17] - 1e-9
            and old[1] >= new[1] - 0.25
            and old[18] <= new[18] + 0.25
            and old[6] >= new[6] - 0.0125
            and old[19] <= new[19] + 0.0025
        ):
            return True
    return False
