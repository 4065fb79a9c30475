"""Where downspouts stand along the gutters of roof pieces.

A *chain* is a run of eaves with one gutter, followed anticlockwise; positions on it are lengths from its start.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled

EAVE: Final = 0
"""An outer eave: it carries a gutter."""
COURT: Final = 1
"""An eave over an inner court: not led."""
GABLE: Final = 2
"""A motionless edge that is an outside wall."""
PARTY: Final = 3
"""A party wall, motionless or not: no gutter."""

SHORT_M: Final = 1.5
"""Sides shorter than this make one corner with what is beside them: jogs, bays and chamfers get no downspout."""
CORNER_RAD: Final = 0.8726646259971648
"""A corner for a downspout turns by 50 degrees or more."""
OFF_PARTY_M: Final = 0.3
"""A downspout at a party wall stands this far from it."""

AT: Final = 0
GIVEN: Final = 1
PLACED: Final = -1.0
"""Number of a downspout that is not given."""


@compiled
def turn_between(xy: np.ndarray, a: int, b: int, c: int) -> float:
    """Angle by which the boundary turns left at corner b, coming from a and going to c [rad]."""
    ux = xy[b, 0] - xy[a, 0]
    uy = xy[b, 1] - xy[a, 1]
    vx = xy[c, 0] - xy[b, 0]
    vy = xy[c, 1] - xy[b, 1]
    return float(np.arctan2(ux * vy - uy * vx, ux * vx + uy * vy))


@compiled
def add_site(sites: np.ndarray, count: int, at: float, given: float) -> int:
    """Put a downspout at a position of the chain, keeping the order along it; the new number of them."""
    i = count
    while i > 0 and sites[i - 1, AT] > at:
        sites[i, AT] = sites[i - 1, AT]
        sites[i, GIVEN] = sites[i - 1, GIVEN]
        i -= 1
    sites[i, AT] = at
    sites[i, GIVEN] = given
    return count + 1


@compiled
def find_corners(
    xy: np.ndarray, ends: np.ndarray, chain: np.ndarray, starts: np.ndarray, closed: bool, corners: np.ndarray
) -> int:
    """Positions of corners along a chain where a builder would put a downspout; how many.

    Corners with sides shorter than SHORT_M between them count as one, by the sum of their turns: a jog turns nowhere,
    a chamfered corner turns as much as a square one.
    """
    m = chain.shape[0]
    count = m if closed else m - 1
    first = 0 if closed else 1
    for i in range(m if closed else 0):
        if starts[i + 1] - starts[i] >= SHORT_M:
            first = i + 1
            break
    found = 0
    total = 0.0
    sharpest = -np.inf
    at = 0.0
    for k in range(count):
        i = (first + k) % m
        angle = turn_between(xy, chain[i - 1 if i > 0 else m - 1], chain[i], ends[chain[i]])
        total += angle
        if angle > sharpest:
            sharpest = angle
            at = starts[i]
        if starts[i + 1] - starts[i] >= SHORT_M or k == count - 1:
            if total >= CORNER_RAD:
                corners[found] = at
                found += 1
            total = 0.0
            sharpest = -np.inf
    return found


@compiled
def place_corners(sites: np.ndarray, count: int, corners: np.ndarray, found: int, low: float, high: float) -> int:
    """Put placed downspouts at the corners between two positions and not close to either; the new number of them."""
    for i in range(found):
        if low + SHORT_M <= corners[i] <= high - SHORT_M:
            count = add_site(sites, count, corners[i], PLACED)
    return count


@compiled
def place_ends(
    sites: np.ndarray,
    count: int,
    corners: np.ndarray,
    found: int,
    length: float,
    run: float,
    party_first: bool,
    party_last: bool,
) -> int:
    """Put downspouts at the ends of a gutter that does not go right round; beside a party wall only where needed."""
    given = count
    off = min(OFF_PARTY_M, 0.25 * length)
    first = off if party_first else 0.0
    last = length - off if party_last else length
    if count == 0:
        if not party_first:
            count = add_site(sites, count, first, PLACED)
        if not party_last and (count == 0 or last - first >= SHORT_M):
            count = add_site(sites, count, last, PLACED)
        low = first - SHORT_M if party_first else first
        count = place_corners(sites, count, corners, found, low, last + SHORT_M if party_last else last)
        if count == 0:
            count = add_site(sites, count, first, PLACED)
    if sites[0, AT] > run:
        high = sites[0, AT]
        count = add_site(sites, count, first, PLACED)
        if given > 0:
            count = place_corners(sites, count, corners, found, first, high)
    if length - sites[count - 1, AT] > run:
        low = sites[count - 1, AT]
        count = add_site(sites, count, last, PLACED)
        if given > 0:
            count = place_corners(sites, count, corners, found, low, last)
    return count


@compiled
def fill_gaps(sites: np.ndarray, count: int, corners: np.ndarray, found: int, run: float) -> int:
    """Put downspouts into gaps so that no gutter run is longer than allowed: at corners first, then evenly."""
    for way in range(2):
        for i in range(count - 2, -1, -1):
            low = sites[i, AT]
            high = sites[i + 1, AT]
            if way == 0 and high - low > 2.0 * run:
                count = place_corners(sites, count, corners, found, low, high)
            elif way == 1:
                more = int(np.ceil((high - low) / (2.0 * run) - 1e-9)) - 1
                for k in range(more):
                    count = add_site(sites, count, low + (high - low) * (k + 1) / (more + 1), PLACED)
    return count
