"""Everything about one centre: its leads, its room in every shape, and the best garden there.

``world`` is a ``siting.search_arrays.World``, ``work`` a ``Work``; ``level`` the flat window of a lot's mask cells:
0 clear, 1 to look at, 2 steep, 3 closed.
"""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled
from screening.siting.kernels.ellipse_kernels import exact_room
from screening.siting.kernels.garden_kernels import NO_KEY, best_garden
from screening.siting.kernels.lead_kernels import BARRED, hump_mode, lead_way
from screening.siting.kernels.room_kernels import CLOSED, LOOK, STEEP, first_size, marked_size, shape_rooms

__all__ = [
    "LEAD_ROWS",
    "LONGEST",
    "MOST_LEADS",
    "best_shape",
    "drop_hopeless",
    "find_leads",
    "hopeless",
]

MOST_LEADS = 6
"""Downspouts that one centre chooses among, those with the most water."""

LEAD_ROWS = 9
"""Numbers of a lead."""

FLAT_SLOPE = 0.015
"""Below it the contour says nothing, and a garden lies along the house. [m/m]"""
LONGEST = 3.0
"""Length over width of the longest shape."""
CONTOUR_SLOPE = 0.05
"""Above it the long side keeps to the contour. [m/m]"""


@compiled
def _less_water(leads: Any, i: int, kept: float, share: float) -> bool:
    less: bool = leads[6, i] < kept or (leads[6, i] == kept and leads[4, i] < share)
    return less


@compiled
def find_leads(
    x: float, y: float, height: float, spouts: Any, bars: Any, plane: Any, span: Any, p: Any, leads: Any
) -> int:
    """Fill in the leads that reach a centre, as ``best_garden`` takes them, those with the most water; count them.

    ``span``: first and last downspout and bar of the lot; two more rows of ``leads``: the downspout; 0 surface,
    1 shallow or 2 buried.
    """
    count = 0
    for s in range(span[0], span[1]):
        spout = spouts[s]
        dx = x - spout.x
        dy = y - spout.y
        run = math.sqrt(dx * dx + dy * dy)
        limit = min(p.run_limit, max(p.run_always, p.run_per_m2 * spout.share))
        if run > limit + 1e-9 or spout.worth == 0:
            continue
        way = lead_way(
            spout.x, spout.y, x, y, spout.roof, spout.start_mode, spout.start_consent, bars, span[2], span[3],
            p.own_wall,
        )  # fmt: skip
        if way == BARRED:
            continue
        hump = hump_mode(spout.x, spout.y, spout.ground, x, y, height, plane, p)
        if hump == BARRED:
            continue
        mode = max(way % 4, hump)
        at = count
        if count == MOST_LEADS:
            at = 0
            for i in range(1, count):
                if _less_water(leads, i, leads[6, at], leads[4, at]):
                    at = i
            if not _less_water(leads, at, spout.kept, spout.share):
                continue
        else:
            count += 1
        depth = p.start_surface if mode == 0 else (p.start_shallow if mode == 1 else p.start_buried)
        leads[0, at] = spout.ground - depth - p.freeboard_lead - p.grade * run
        leads[1, at] = run
        leads[2, at] = 2.0 * p.error * math.sqrt(2.0 * (1.0 - math.exp(-run * run / (2.0 * p.error_range**2))))
        leads[3, at] = way // 4
        leads[4, at] = spout.share
        leads[5, at] = spout.share_low
        leads[6, at] = spout.kept
        leads[7, at] = s
        leads[8, at] = mode
    return count


@compiled
def _direction(turn: int, contour: int, house: int, slope: float) -> int:
    """The turn-th direction to try: the contour, then along and across the house; on flat ground the house first."""
    if slope < FLAT_SLOPE:
        turn = (turn + 1) % 3
    if turn == 0:
        return contour
    return house if turn == 1 else (house + 8) % 16


@compiled
def _more_room(rooms: Any, most: Any) -> bool:
    """Whether a shape has more room than those tried before."""
    more: bool = rooms[0] > most[0] or rooms[1] > most[1] or rooms[2] > most[2]
    return more


@compiled
def hopeless(lowest: float, leads: Any, i: int) -> bool:
    """Whether a lead cannot fall to the lowest lip of any garden here."""
    too_low: bool = lowest > leads[0, i] + leads[2, i] + 1e-6
    return too_low


@compiled
def drop_hopeless(lowest: float, count: int, leads: Any) -> int:
    """Leave out leads that cannot fall to the lowest lip of any garden here; count those left, 0 when it is all."""
    left = 0
    for i in range(count):
        if hopeless(lowest, leads, i):
            continue
        if left < i:
            for k in range(LEAD_ROWS):
                leads[k, left] = leads[k, i]
        left += 1
    return left


@compiled
def best_shape(
    x: float, y: float, at: int, level: Any, runs: Any, kinds: int, segments: int, fine: bool, falls: bool, count: int,
    kept_all: float, house: int, near: Any, aside: Any, segs: Any, offsets: Any, row_offsets: Any,
    first_cell: Any, first_row: Any, rows: Any, reached: Any, sizes_m2: Any, aspects: Any, directions: Any, p: Any,
    subsets: Any, flags: Any, numbers: Any,
) -> int:  # fmt: skip
    """Key of the best garden at a centre over all shapes, ``NO_KEY`` where there is none; the garden in ``numbers[2]``.

    Nothing is known yet against its overflow.

    Parameters
    ----------
    x, y, at
        The centre, and its mask cell in ``level`` and ``runs``.
    segments
        Segments near, for the exact room; -1: room from mask cells, which is never less.
    fine
        The centre lies between the centres of mask cells: closed cells are left to the segments.
    falls, count
        Whether leads can fall here, and how many are in ``subsets``.
    kept_all, house
        Of the lot.
    near, aside
        The segments near.
    offsets, row_offsets
        ``cell_offsets`` of the templates' cells and rows.
    numbers
        Row 3 holds the ground and its gradient east and north.
    """
    rooms = numbers[0]
    trial = numbers[1]
    out = numbers[2]
    most = numbers[3]
    height = most[3]
    gx = most[4]
    gy = most[5]
    slope = math.hypot(gx, gy)
    contour = math.floor(math.atan2(gx, -gy) / math.pi * 16.0 + 0.5) % 16
    sizes = sizes_m2.shape[0]
    best = NO_KEY
    enough = min(p.wanted_m2_per_m2 * subsets[(1 << count) - 1, 0], sizes_m2[sizes - 1])
    for i in range(3):
        most[i] = 0.0
    trying = -1
    done = False
    while trying < 3 * aspects.shape[0] - 1 and not done:
        trying += 1
        aspect = trying // 3
        ratio = aspects[aspect, 0]
        least = aspects[aspect, 1]
        direction = _direction(trying % 3, contour, house, slope)
        if trying % 3 > 0 and direction == _direction(0, contour, house, slope):
            continue
        off = abs(direction - contour)
        if slope > CONTOUR_SLOPE and min(off, 16 - off) > 2:
            continue
        shape = aspect * 16 + direction
        closed = sizes
        if not fine:
            closed = first_size(
                runs[CLOSED - 1], at, row_offsets, rows, reached, first_row[shape], first_row[shape + 1], sizes
            )  # fmt: skip
        room = sizes_m2[min(closed, sizes - 1)]
        if closed == 0 or room < least:
            continue
        for kind in (LOOK, STEEP):
            flags[kind - 1] = sizes
            if (kinds >> kind) & 1:
                flags[kind - 1] = marked_size(
                    level, runs[kind - 1], kind, closed, at, offsets, row_offsets, first_cell, first_row,
                    rows, reached, shape,
                )  # fmt: skip
        if 100.0 * slope >= p.slope_look:
            flags[0] = 0
        if 100.0 * slope > p.slope_out:
            flags[1] = 0
        shape_rooms(flags, sizes_m2, room, rooms)
        if best < NO_KEY and out[4] < 2 and not _more_room(rooms, most):
            continue
        cos = directions[direction, 0]
        sin = directions[direction, 1]
        if segments >= 0:
            room = exact_room(x, y, cos, sin, ratio, least, room, p.ring, segs, near, aside, segments)
            if room < least:
                continue
            shape_rooms(flags, sizes_m2, room, rooms)
        long = math.sqrt(ratio / math.pi)
        tilt = math.hypot(long * (gx * cos + gy * sin), long / ratio * (gy * cos - gx * sin))
        key = best_garden(subsets, count, height, slope, tilt, rooms, least, aspect // 2, 0, kept_all, p, trial)
        for i in range(3):
            most[i] = max(most[i], rooms[i])
        if key < best:
            best = key
            served = 0
            for i in range(9):
                out[i] = trial[i]
            for i in range(count):
                served += (int(out[2]) >> i) & 1
            out[9] = served
            out[10] = shape
            out[11] = count
            out[12] = height
            out[13] = tilt
        # no other shape does better: nothing falls, or everything that comes here is held with nothing against it
        done = best < NO_KEY and (not falls or (out[4] < 2 and most[0] >= enough))
    return best
