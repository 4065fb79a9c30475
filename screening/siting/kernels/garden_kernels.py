"""One garden at one centre in one shape: which downspouts it serves, how large, how low its lip, and its place in line.

Keys are whole numbers, smaller is better: severity, kind of failure or number of doubts, water kept, shape, comfort of
the fall, longest run, slope, mean run.
"""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled

__all__ = ["AGAINST", "DOUBTED", "FAILS", "NO_KEY", "best_garden", "hoped_key", "tabulate_subsets"]

NO_KEY = 1 << 62
FAILS = 2
AGAINST, DOUBTED = 1 << 36, 1 << 39
"""What one more failing or doubt, and one step of severity add to a key."""
COMFORT_MOST = 3
COMFORT_SHORT = 250
BUMP = 1e-6


@compiled
def lowest_lip(ground: float, drop: float, p: Any) -> float:
    """Lowest lip that can be built, NaN where lowest and highest cross.

    ``drop``: from the centre to the lowest ground, as to the highest on the other side. [m]
    """
    low = max(ground - drop, ground + drop - p.cut_most)
    high = ground - drop + p.berm_most - p.freeboard_berm
    return low if low <= high else math.nan


@compiled
def fall_class(low: float, top: float, top_two: float) -> int:
    """0 where the lip lies low enough, 1 where it does so within two sigma, 2 where it does not or cannot be built."""
    if low <= top + BUMP:
        return 0
    if low <= top_two + BUMP:
        return 1
    return 2


@compiled
def garden_key(
    severity: int, kind: int, water: int, shape: int, margin: float, run: float, slope: float, mean_run: float
) -> int:
    """Pack the order among candidates into one whole number."""
    comfort = -COMFORT_SHORT
    if margin >= 0.0:
        comfort = math.floor(margin / 0.025 + BUMP)
    elif margin > -1e6:
        comfort = math.floor(margin / 0.075 + BUMP)  # coarser: levels will tell
    short = COMFORT_MOST - max(min(comfort, COMFORT_MOST), COMFORT_MOST - COMFORT_SHORT)
    key = severity
    key = (key << 3) | kind
    key = (key << 5) | (20 - water)
    key = (key << 1) | shape
    key = (key << 8) | short
    key = (key << 6) | min(int(run + BUMP), 63)
    key = (key << 6) | min(int(slope * 20.0 + BUMP), 63)
    return (key << 10) | min(int(mean_run * 10.0 + BUMP), 1023)


@compiled
def tabulate_subsets(leads: Any, count: int, table: Any) -> None:
    """Sums over every set of leads; row ``mask`` of the table belongs to the leads whose bits it has.

    Parameters
    ----------
    leads
        Shape (7, n): top (highest lip with fall enough) [m], run [m], two sigma of its fall [m], needs consent (0, 1),
        share, least share, share kept out of the drain [m2].
    count
        Leads there are.
    table
        Shape (2**n, 9): area, least area, water kept, top, top with two sigma, longest run, mean run, consent, number.
    """
    for k in range(9):
        table[0, k] = 0.0
    table[0, 3] = math.inf
    table[0, 4] = math.inf
    for mask in range(1, 1 << count):
        i = 0
        while not (mask >> i) & 1:
            i += 1
        rest = mask & (mask - 1)
        number = table[rest, 8]
        table[mask, 0] = table[rest, 0] + leads[4, i]
        table[mask, 1] = table[rest, 1] + leads[5, i]
        table[mask, 2] = table[rest, 2] + leads[6, i]
        table[mask, 3] = min(table[rest, 3], leads[0, i])
        table[mask, 4] = min(table[rest, 4], leads[0, i] + leads[2, i])
        table[mask, 5] = max(table[rest, 5], leads[1, i])
        table[mask, 6] = (table[rest, 6] * number + leads[1, i]) / (number + 1.0)
        table[mask, 7] = max(table[rest, 7], leads[3, i])
        table[mask, 8] = number + 1.0


@compiled
def hoped_key(table: Any, count: int, lowest: float, slope: float, most: float, kept_all: float, p: Any) -> int:
    """Key that no garden at a centre can be better than: that of the best one with all the room there could be.

    Parameters
    ----------
    table, count, kept_all
        As for ``best_garden``.
    lowest
        No lip lies lower. [m]
    slope
        At the centre. [m/m]
    most
        Largest ponding area. [m2]
    """
    best = NO_KEY
    fails = 4 if 100.0 * slope > p.slope_out else 0
    doubt = 1 if 100.0 * slope >= p.slope_look else 0
    for mask in range(1, 1 << count):
        area = table[mask, 0]
        if area > p.draining_most and table[mask, 8] > 1.0:
            continue
        klass = fall_class(lowest, table[mask, 3], table[mask, 4])
        kind = fails + (2 if klass == 2 else 0)
        severity = 2
        if kind == 0:
            kind = doubt + int(table[mask, 7]) + (1 if klass == 1 else 0)
            severity = min(kind, 1)
        water = 0
        if kept_all > 0.0:
            depth = min(most / (p.wanted_m2_per_m2 * area), 1.0) if area > 0.0 else 1.0
            water = min(int(20.0 * table[mask, 2] * depth / kept_all + BUMP), 20)
        margin = table[mask, 3] - lowest
        best = min(best, garden_key(severity, kind, water, 0, margin, table[mask, 5], slope, table[mask, 6]))
    return best


@compiled
def best_garden(
    table: Any, count: int, ground: float, slope: float, tilt: float, rooms: Any, least: float, shape: int, threat: int,
    kept_all: float, p: Any, out: Any,
) -> int:  # fmt: skip
    """Best garden at a centre in one shape over the downspouts that reach it.

    Parameters
    ----------
    table, count
        Sets of leads, as ``tabulate_subsets`` makes them, and how many leads there are.
    ground, slope
        Plane at the centre. [m], [m/m]
    tilt
        Drop from the centre to the edge, for one m2 of ponding area; it grows with the square root of the area. [m]
    rooms
        Room clear of everything to look at; room clear of steep ground; room. [m2]
    least
        Least ponding area of this shape. [m2]
    shape, threat
        0 for the good shapes, 1 for the others; 1 where the overflow runs on to a building.
    kept_all
        Water that all downspouts of the lot together could keep out of the drain. [m2]
    out
        Of the best: size, room, downspouts (bits), class, severity, failures or doubts, margin, eligible, depth share;
        in place.
    """
    best = NO_KEY
    for level in range(3):
        room = rooms[level]
        if room < least or (level > 0 and room <= rooms[level - 1]) or (best < NO_KEY and out[4] <= level):
            continue
        for mask in range((1 << count) - 1, 0, -1):
            area = table[mask, 0]
            several = table[mask, 8] > 1.0
            if several and area > p.draining_most:
                continue
            doubts = threat + (1 if level == 1 else 0) + int(table[mask, 7])
            water = 0
            if kept_all > 0.0:
                water = min(int(20.0 * table[mask, 2] / kept_all + BUMP), 20)
            # the best that this set could come to
            if (((min(doubts, 1) << 3) | doubts) << 5) | (20 - water) > best >> 31:
                continue
            size = max(p.wanted_m2_per_m2 * area, least)
            eligible = area <= p.draining_most
            if size > room:
                size = room
                eligible = eligible and room >= p.least_m2_per_m2 * area
                if not eligible and several:
                    continue
            top = table[mask, 3]
            low = lowest_lip(ground, tilt * math.sqrt(size), p)
            klass = fall_class(low, top, table[mask, 4])
            if klass == 2 and tilt > 0.0:
                # a larger garden reaches further downhill, until its uphill cut is the deepest allowed
                other = min(max((p.cut_most / (2.0 * tilt)) ** 2, size), room)
                other_low = lowest_lip(ground, tilt * math.sqrt(other), p)
                if fall_class(other_low, top, table[mask, 4]) < 2:
                    size = other
                    low = other_low
                    klass = fall_class(low, top, table[mask, 4])
            margin = top - low if low == low else -math.inf
            fails = (4 if level == 2 else 0) + (2 if klass == 2 else 0)
            doubts += 1 if klass == 1 else 0
            if not eligible:
                if room >= p.least_m2_per_m2 * table[mask, 1] and table[mask, 1] <= p.draining_most:
                    doubts += 1
                else:
                    fails += 1
            severity = 2 if fails > 0 else min(doubts, 1)
            depth = min(size / (p.wanted_m2_per_m2 * area), 1.0) if area > 0.0 else 0.0
            if kept_all > 0.0:
                water = min(int(20.0 * table[mask, 2] * depth / kept_all + BUMP), 20)
            key = garden_key(
                severity, fails if fails > 0 else doubts, water, shape, margin, table[mask, 5], slope, table[mask, 6]
            )
            if key < best:
                best = key
                out[0] = size
                out[1] = room
                out[2] = mask
                out[3] = klass
                out[4] = severity
                out[5] = fails if fails > 0 else doubts
                out[6] = margin
                out[7] = 1.0 if eligible else 0.0
                out[8] = depth
    return best
