"""Everything about one centre: its leads, its room in every shape, and the best garden there.

``world`` is a ``siting.search_arrays.World``, ``work`` a ``Work``; ``level`` the flat window of a lot's mask cells:
0 clear, 1 to look at, 2 steep, 3 closed.
"""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled
from screening.siting.kernels.ellipse_kernels import exact_room, near_segments
from screening.siting.kernels.garden_kernels import NO_KEY, best_garden, tabulate_subsets
from screening.siting.kernels.lead_kernels import BARRED, hump_mode, lead_way
from screening.siting.kernels.streamline_kernels import garden_overflow
from screening.siting.kernels.window_kernels import core_clear

__all__ = ["MOST_LEADS", "centre_garden", "find_leads", "first_flags", "shape_rooms"]

MOST_LEADS = 6
"""Downspouts that one centre chooses among, those with the most water."""

CLOSED = 3

FLAT_SLOPE = 0.015
"""Below it the contour says nothing, and a garden lies along the house. [m/m]"""
LONGEST = 3.0
"""Length over width of the longest shape."""
CONTOUR_SLOPE = 0.05
"""Above it the long side keeps to the contour. [m/m]"""


@compiled
def first_flags(level: Any, at: int, width: int, world: Any, shape: int, pass_closed: bool, out: Any) -> None:
    """First sizes of a shape that cover a cell to look at, a steep cell and a closed cell."""
    count = world.sizes_m2.shape[0]
    out[0] = count
    out[1] = count
    out[2] = count
    for i in range(world.first_cell[shape], world.first_cell[shape + 1]):
        flag = level[at + world.cells[i, 0] * width + world.cells[i, 1]]
        if flag == 0:
            continue
        size = world.cells[i, 2]
        if flag == CLOSED:
            if not pass_closed:
                out[2] = size
                return
        elif flag == 2:
            out[1] = min(out[1], size)
        else:
            out[0] = min(out[0], size)


@compiled
def shape_rooms(flags: Any, sizes: Any, room: float, out: Any) -> None:
    """Room clear of everything to look at, room clear of steep ground, and room."""
    count = sizes.shape[0]
    out[2] = room
    out[1] = room
    if flags[1] < count:
        out[1] = min(room, sizes[flags[1] - 1]) if flags[1] > 0 else 0.0
    out[0] = out[1]
    if flags[0] < count:
        out[0] = min(out[1], sizes[flags[0] - 1]) if flags[0] > 0 else 0.0


@compiled
def _less_water(leads: Any, i: int, kept: float, share: float) -> bool:
    less: bool = leads[6, i] < kept or (leads[6, i] == kept and leads[4, i] < share)
    return less


@compiled
def find_leads(x: float, y: float, height: float, lot: int, world: Any, work: Any) -> int:
    """Fill in the leads that reach a centre, as ``best_garden`` takes them, those with the most water; count them.

    ``work.picks[0]``: the downspouts; ``work.picks[1]``: surface, shallow or buried.
    """
    p = world.limits
    leads = work.leads
    count = 0
    for s in range(world.lots[lot].first_spout, world.lots[lot + 1].first_spout):
        spout = world.spouts[s]
        dx = x - spout.x
        dy = y - spout.y
        run = math.sqrt(dx * dx + dy * dy)
        limit = min(p.run_limit, max(p.run_always, p.run_per_m2 * spout.share))
        if run > limit + 1e-9 or spout.worth == 0:
            continue
        way = lead_way(
            spout.x, spout.y, x, y, spout.roof, spout.start_mode, spout.start_consent, world.bars,
            world.lots[lot].first_bar, world.lots[lot + 1].first_bar, p.own_wall,
        )  # fmt: skip
        if way == BARRED:
            continue
        hump = hump_mode(spout.x, spout.y, spout.ground, x, y, height, world.plane, p)
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
        work.picks[0, at] = s
        work.picks[1, at] = mode
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
def _drop_hopeless(height: float, slope: float, count: int, most_m2: float, work: Any, p: Any) -> int:
    """Leave out leads that cannot fall to the lowest lip of any garden here; count those left, 0 when it is all."""
    leads = work.leads
    drop = min(slope * math.sqrt(most_m2 * LONGEST / math.pi), 0.5 * p.cut_most)
    left = 0
    for i in range(count):
        if height - drop > leads[0, i] + leads[2, i] + 1e-6:
            continue
        for k in range(7):
            leads[k, left] = leads[k, i]
        work.picks[0, left] = work.picks[0, i]
        work.picks[1, left] = work.picks[1, i]
        left += 1
    return left


@compiled
def centre_garden(
    x: float, y: float, row: int, column: int, at: int, level: Any, width: int, exact: int, fine: bool, lot: int,
    near: Any, distance: Any, world: Any, work: Any,
) -> int:  # fmt: skip
    """Key of the best garden at a centre, ``NO_KEY`` where there is none; the garden itself in ``work.numbers[2]``.

    Parameters
    ----------
    x, y, row, column, at
        The centre, the elevation cell it lies in, and its mask cell in ``level``.
    exact
        Room from the segments, and where the overflow goes; else room from mask cells, which is never less, and
        nothing known against the overflow.
    fine
        The centre lies between the centres of mask cells: closed cells are left to the segments.
    near, distance
        Room to work in, as long as the lot has segments.
    """
    if not core_clear(level, at, width, world.core):
        return NO_KEY
    p = world.limits
    sizes = world.sizes_m2.shape[0]
    segments = 0
    if exact == 1:
        segments = near_segments(
            x, y, math.sqrt(world.sizes_m2[sizes - 1] * LONGEST / math.pi) + p.ring, p.least_half_width + p.ring,
            world.segs, world.lots[lot].first_seg, world.lots[lot + 1].first_seg, near, distance,
        )  # fmt: skip
        if segments < 0:
            return NO_KEY
    flags = work.picks[2]
    rooms = work.numbers[0]
    trial = work.numbers[1]
    out = work.numbers[2]
    gx = world.east[row, column]
    gy = world.rise_north[row, column]
    height = world.plane[row, column]
    threat = 0
    height += gx * (x - (p.west + (column + 0.5) * p.cell_x))
    height += gy * (y - (p.north - (row + 0.5) * p.cell_y))
    if not math.isfinite(height):
        return NO_KEY
    if exact == 1:
        met = garden_overflow(x, y, world.ends, world.east, world.rise_north, world.direction, p)
        threat = 1 if met > 0 else 0
    slope = math.hypot(gx, gy)
    contour = math.floor(math.atan2(gx, -gy) / math.pi * 16.0 + 0.5) % 16
    house = world.lots[lot].house_direction
    count = find_leads(x, y, height, lot, world, work)
    if count == 0:
        return NO_KEY
    hopeful = _drop_hopeless(height, slope, count, world.sizes_m2[sizes - 1], work, p)
    if hopeful > 0:
        count = hopeful
    elif fine:
        return NO_KEY
    tabulate_subsets(work.leads, count, work.subsets)
    best = NO_KEY
    enough = min(p.wanted_m2_per_m2 * work.subsets[(1 << count) - 1, 0], world.sizes_m2[sizes - 1])
    most = work.numbers[3]
    for i in range(3):
        most[i] = 0.0
    for aspect in range(world.aspects.shape[0]):
        ratio = world.aspects[aspect, 0]
        least = world.aspects[aspect, 1]
        long = math.sqrt(ratio / math.pi)
        for turn in range(3):
            direction = _direction(turn, contour, house, slope)
            if turn > 0 and direction == _direction(0, contour, house, slope):
                continue
            off = abs(direction - contour)
            if slope > CONTOUR_SLOPE and min(off, 16 - off) > 2:
                continue
            shape = aspect * 16 + direction
            first_flags(level, at, width, world, shape, fine, flags)
            room = world.sizes_m2[min(flags[2], sizes - 1)]
            if flags[2] == 0 or room < least:
                continue
            if 100.0 * slope >= p.slope_look:
                flags[0] = 0
            if 100.0 * slope > p.slope_out:
                flags[1] = 0
            shape_rooms(flags, world.sizes_m2, room, rooms)
            if best < NO_KEY and out[4] < 2 and not _more_room(rooms, most):
                continue
            cos = world.directions[direction, 0]
            sin = world.directions[direction, 1]
            if exact == 1:
                room = exact_room(x, y, cos, sin, ratio, least, room, p.ring, world.segs, near, distance, segments)
                if room < least:
                    continue
                shape_rooms(flags, world.sizes_m2, room, rooms)
            tilt = math.hypot(long * (gx * cos + gy * sin), long / ratio * (gy * cos - gx * sin))
            key = best_garden(
                work.subsets, count, height, slope, tilt, rooms, least, aspect // 2, threat, world.lots[lot].kept_all,
                p, trial,
            )  # fmt: skip
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
            if best < NO_KEY and (hopeful == 0 or (out[4] < 2 and most[0] >= enough)):
                return best
    return best
