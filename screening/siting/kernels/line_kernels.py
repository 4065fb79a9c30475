"""The line of gardens that a lot could have: which comes next, and which are no better than one already taken."""

from __future__ import annotations

from typing import Any

from screening.jit import compiled
from screening.siting.kernels.centre_kernels import MOST_LEADS
from screening.siting.kernels.garden_kernels import NO_KEY

__all__ = ["BLOCK", "DETAILS", "EXACT", "GUESSED", "JUDGED", "RECORD", "ROUGH", "dominated", "next_in_line"]

DETAILS = 32
"""Numbers kept of a garden: fourteen of ``best_shape``; row and column of its mask cell, whether it lies between
their centres; water, mean run and slope, as they are compared; downspouts led (-1 none) and how, six each."""

RECORD = DETAILS + 3
"""Numbers of a record: those, x, y, and what the overflow meets (``garden_overflow``), NaN where not asked."""

GUESSED, ROUGH, EXACT, JUDGED = 0, 1, 2, 3
"""How well a garden is known: as if it had all the room there could be; room from mask cells; room from segments; that,
and where the overflow goes."""

BLOCK = 16
"""So many keys have their least noted."""


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
    keys: Any, least: Any, close: Any, count: int, records: Any, most_key: int, first: int, far: bool, second: bool
) -> int:
    """Number of the smallest key below a bound; -1 where there is none.

    Parameters
    ----------
    keys
        ``NO_KEY`` where a garden is done with.
    least
        Of each block of keys a number that none of it is below, close ones aside as long as only far ones are asked
        for; written in place. 0 tells nothing.
    close
        1 where a garden is close to one that is chosen.
    far
        One that is not close.
    first, second
        One that is led none of the downspouts of the first.
    """
    blocks = (count + BLOCK - 1) // BLOCK
    likely = 0
    for block in range(1, blocks):
        likely = block if least[block] < least[likely] else likely
    best = -1
    for turn in range(-1, blocks):  # the likeliest block before the others: few of them then have to be gone through
        block = likely if turn < 0 else turn
        if least[block] > most_key or (least[block] == most_key and (best < 0 or block > best // BLOCK)):
            continue
        if block == likely and turn >= 0:
            continue
        lowest = NO_KEY
        for i in range(block * BLOCK, min(block * BLOCK + BLOCK, count)):
            if far and close[i] == 1:
                continue
            lowest = min(lowest, keys[i])
            if keys[i] > most_key or (keys[i] == most_key and (best < 0 or i > best)):
                continue
            if second and _shares_lead(records[i], records[first]):
                continue
            best = i
            most_key = keys[i]
        least[block] = lowest
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
