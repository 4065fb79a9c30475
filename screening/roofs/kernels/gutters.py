"""Where downspouts stand along the gutters of one roof piece.

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


@compiled
def add_site(sites: np.ndarray, count: int, at: float, given: float) -> int:
    """Put a downspout at a position of the chain, keeping the order along it; the new number of them."""
    i = count
    while i > 0 and sites[i - 1, AT] > at:
        sites[i] = sites[i - 1]
        i -= 1
    sites[i, AT] = at
    sites[i, GIVEN] = given
    return count + 1


@compiled
def turn_between(xy: np.ndarray, a: int, b: int, c: int) -> float:
    """Angle by which the boundary turns left at corner b, coming from a and going to c. [rad]"""
    ux = xy[b, 0] - xy[a, 0]
    uy = xy[b, 1] - xy[a, 1]
    vx = xy[c, 0] - xy[b, 0]
    vy = xy[c, 1] - xy[b, 1]
    return float(np.arctan2(ux * vy - uy * vx, ux * vx + uy * vy))


@compiled
def find_corners(
    xy: np.ndarray, edges: np.ndarray, ends: np.ndarray, starts: np.ndarray, closed: bool, corners: np.ndarray
) -> int:
    """Positions of corners along a chain where a builder would put a downspout; how many.

    Corners with sides shorter than SHORT_M between them count as one, by the sum of their turns: a jog turns nowhere,
    a chamfered corner turns as much as a square one.
    """
    m = edges.shape[0]
    first = 0
    if closed:
        for i in range(m):
            if starts[i + 1] - starts[i] >= SHORT_M:
                first = i + 1
                break
    found = 0
    total = 0.0
    sharpest = -np.inf
    at = 0.0
    corners_of_chain = m if closed else m - 1
    for k in range(corners_of_chain):
        i = (first + k) % m if closed else k + 1
        before = (i - 1 + m) % m
        angle = turn_between(xy, edges[before], edges[i], ends[edges[i]])
        total += angle
        if angle > sharpest:
            sharpest = angle
            at = starts[i]
        if starts[i + 1] - starts[i] >= SHORT_M or k == corners_of_chain - 1:
            if total >= CORNER_RAD:
                corners[found] = at
                found += 1
            total = 0.0
            sharpest = -np.inf
    return found


@compiled
def place_in_gap(
    sites: np.ndarray, count: int, corners: np.ndarray, found: int, low: float, high: float, length: float
) -> int:
    """Put placed downspouts at the corners that lie between two positions and not close to either."""
    for i in range(found):
        at = corners[i]
        if at < low and length > 0.0:
            at += length
        if low + SHORT_M <= at <= high - SHORT_M:
            if length > 0.0 and at >= length:
                at -= length
            count = add_site(sites, count, at, -1.0)
    return count


@compiled
def fill_gap(sites: np.ndarray, count: int, low: float, high: float, length: float, run: float) -> int:
    """Put downspouts evenly into a gap so that no gutter run is longer than allowed."""
    more = int(np.ceil((high - low) / (2.0 * run) - 1e-9)) - 1
    for i in range(more):
        at = low + (high - low) * (i + 1) / (more + 1)
        if length > 0.0 and at >= length:
            at -= length
        count = add_site(sites, count, at, -1.0)
    return count


@compiled
def sites_of_loop(sites: np.ndarray, count: int, corners: np.ndarray, found: int, length: float, run: float) -> int:
    """Downspouts along a gutter that goes right round; ``sites`` holds the given ones."""
    if count == 0:
        if found == 0:
            count = add_site(sites, count, 0.0, -1.0)
        for i in range(found):
            count = add_site(sites, count, corners[i], -1.0)
    else:
        known = sites[:count].copy()
        for i in range(known.shape[0]):
            low = known[i, AT]
            high = known[i + 1, AT] if i + 1 < known.shape[0] else known[0, AT] + length
            if high - low > 2.0 * run:
                count = place_in_gap(sites, count, corners, found, low, high, length)
    known = sites[:count].copy()
    for i in range(known.shape[0]):
        high = known[i + 1, AT] if i + 1 < known.shape[0] else known[0, AT] + length
        count = fill_gap(sites, count, known[i, AT], high, length, run)
    return count


@compiled
def sites_of_run(
    sites: np.ndarray,
    count: int,
    corners: np.ndarray,
    found: int,
    length: float,
    run: float,
    party_first: bool,
    party_last: bool,
) -> int:
    """Downspouts along a gutter with two ends; at an end beside a party wall only where it is needed."""
    off = min(OFF_PARTY_M, 0.25 * length)
    first = off if party_first else 0.0
    last = length - off if party_last else length
    known = sites[:count].copy()
    if count == 0:
        if not party_first:
            count = add_site(sites, count, first, -1.0)
        if not party_last and (count == 0 or last - first >= SHORT_M):
            count = add_site(sites, count, last, -1.0)
        low = first - SHORT_M if party_first else first
        high = last + SHORT_M if party_last else last
        count = place_in_gap(sites, count, corners, found, low, high, 0.0)
        if count == 0:
            count = add_site(sites, count, first, -1.0)
    if sites[0, AT] > run:
        high = sites[0, AT]
        count = add_site(sites, count, first, -1.0)
        if known.shape[0] > 0:
            count = place_in_gap(sites, count, corners, found, first, high, 0.0)
    if length - sites[count - 1, AT] > run:
        low = sites[count - 1, AT]
        count = add_site(sites, count, last, -1.0)
        if known.shape[0] > 0:
            count = place_in_gap(sites, count, corners, found, low, last, 0.0)
    for i in range(known.shape[0] - 1):
        if known[i + 1, AT] - known[i, AT] > 2.0 * run:
            count = place_in_gap(sites, count, corners, found, known[i, AT], known[i + 1, AT], 0.0)
    known = sites[:count].copy()
    for i in range(known.shape[0] - 1):
        count = fill_gap(sites, count, known[i, AT], known[i + 1, AT], 0.0, run)
    return count
