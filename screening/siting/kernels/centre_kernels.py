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

__all__ = ["MOST_LEADS", "centre_garden", "find_leads", "first_flags", "shape_rooms"]

MOST_LEADS = 6
"""Downspouts that one centre chooses among, those with the most water."""

CLOSED = 3


@compiled
def first_flags(level: Any, at: int, width: int, shapes: Any, shape: int, pass_closed: bool, out: Any) -> None:
    """First sizes of a shape that cover a cell to look at, a steep cell and a closed cell."""
    count = shapes.sizes_m2.shape[0]
    out[0] = count
    out[1] = count
    out[2] = count
    for i in range(shapes.first[shape], shapes.first[shape + 1]):
        flag = level[at + shapes.rows[i] * width + shapes.columns[i]]
        if flag == 0:
            continue
        size = shapes.size[i]
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
    return leads[6, i] < kept or (leads[6, i] == kept and leads[4, i] < share)


@compiled
def find_leads(x: float, y: float, height: float, lot: int, world: Any, work: Any) -> int:
    """Fill in the leads that reach a centre, as ``best_garden`` takes them, those with the most water; count them."""
    spouts = world.spouts
    bars = world.bars
    p = world.limits
    leads = work.leads
    count = 0
    for s in range(spouts.first[lot], spouts.first[lot + 1]):
        dx = x - spouts.x[s]
        dy = y - spouts.y[s]
        run = math.sqrt(dx * dx + dy * dy)
        limit = min(p.run_limit, max(p.run_always, p.run_per_m2 * spouts.share[s]))
        if run > limit + 1e-9 or not spouts.worth[s]:
            continue
        way = lead_way(
            spouts.x[s], spouts.y[s], x, y, spouts.roof[s], spouts.start_mode[s], spouts.start_consent[s], bars,
            bars.first[lot], bars.first[lot + 1], p.own_wall, p.own_start,
        )  # fmt: skip
        if way == BARRED:
            continue
        hump = hump_mode(
            spouts.x[s], spouts.y[s], spouts.ground[s], x, y, height, world.ground, p.hump_cuts, p.hump_clear
        )
        if hump == BARRED:
            continue
        mode = max(way % 4, hump)
        at = count
        if count == MOST_LEADS:
            at = 0
            for i in range(1, count):
                if _less_water(leads, i, leads[6, at], leads[4, at]):
                    at = i
            if not _less_water(leads, at, spouts.kept[s], spouts.share[s]):
                continue
        else:
            count += 1
        leads[0, at] = spouts.ground[s] - p.start_depth[mode] - p.freeboard_lead - p.grade * run
        leads[1, at] = run
        leads[2, at] = 2.0 * p.error * math.sqrt(2.0 * (1.0 - math.exp(-run * run / (2.0 * p.error_range**2))))
        leads[3, at] = way // 4
        leads[4, at] = spouts.share[s]
        leads[5, at] = spouts.share_low[s]
        leads[6, at] = spouts.kept[s]
        work.slots[at] = s
        work.modes[at] = mode
    return count


@compiled
def _direction(turn: int, contour: int, house: int, slope: float, flat_slope: float) -> int:
    """The turn-th direction to try: the contour, then along and across the house; on flat ground the house first."""
    if slope < flat_slope:
        turn = (turn + 1) % 3
    if turn == 0:
        return contour
    return house if turn == 1 else (house + 8) % 16


@compiled
def _may_fall(height: float, count: int, leads: Any, p: Any) -> bool:
    """Whether any lead falls to the lowest lip that any garden here could have."""
    for i in range(count):
        if height - 0.5 * p.cut_most <= leads[0, i] + leads[2, i] + 1e-6:
            return True
    return False


@compiled
def centre_garden(
    x: float, y: float, row: int, column: int, at: int, level: Any, width: int, exact: bool, fine: bool, lot: int,
    kept_all: float, world: Any, work: Any,
) -> int:  # fmt: skip
    """Key of the best garden at a centre, ``NO_KEY`` where there is none; the garden itself in ``work.out``.

    Parameters
    ----------
    x, y, row, column, at
        The centre, the elevation cell it lies in, and its mask cell in ``level``.
    exact
        Room from the segments; else from mask cells, which is never less.
    fine
        The centre lies between the centres of mask cells: closed cells are left to the segments.
    kept_all
        Water that all downspouts of the lot together could keep out of the drain. [m2]
    """
    ground = world.ground
    shapes = world.shapes
    p = world.limits
    flags = work.flags
    out = work.out
    gx = ground.east[row, column]
    gy = ground.rise_north[row, column]
    height = ground.plane[row, column]
    height += gx * (x - (ground.west + (column + 0.5) * ground.cell_x))
    height += gy * (y - (ground.north - (row + 0.5) * ground.cell_y))
    if not math.isfinite(height):
        return NO_KEY
    slope = math.hypot(gx, gy)
    contour = int(math.floor(math.atan2(gx, -gy) / math.pi * 16.0 + 0.5)) % 16
    house = world.spouts.house_direction[lot]
    threat = 1 if ground.enters[row, column] != 0 else 0
    best = NO_KEY
    count = -1
    if fine:
        count = find_leads(x, y, height, lot, world, work)
        if not _may_fall(height, count, work.leads, p):
            return NO_KEY
    sizes = shapes.sizes_m2.shape[0]
    for aspect in range(shapes.aspects.shape[0]):
        if best < NO_KEY and out[4] == 0 and out[8] == 1.0 and out[9] == count:
            break  # an earlier shape takes all the water that comes here
        least = shapes.least_m2[aspect]
        long = math.sqrt(shapes.aspects[aspect] / math.pi)
        for turn in range(3):
            direction = _direction(turn, contour, house, slope, p.flat_slope)
            if turn > 0 and direction == _direction(0, contour, house, slope, p.flat_slope):
                continue
            off = abs(direction - contour)
            if slope > p.contour_slope and min(off, 16 - off) > 2:
                continue
            shape = aspect * 16 + direction
            first_flags(level, at, width, shapes, shape, fine, flags)
            room = shapes.sizes_m2[min(flags[2], sizes - 1)]
            if flags[2] == 0 or room < least:
                continue
            if count < 0:
                count = find_leads(x, y, height, lot, world, work)
            if count == 0:
                return NO_KEY
            cos = shapes.cos[direction]
            sin = shapes.sin[direction]
            if exact:
                room = exact_room(
                    x, y, cos, sin, shapes.aspects[aspect], least, room, p.ring, world.segs, world.segs.first[lot],
                    world.segs.first[lot + 1],
                )  # fmt: skip
                if room < least:
                    continue
            shape_rooms(flags, shapes.sizes_m2, room, work.rooms)
            tilt = math.hypot(long * (gx * cos + gy * sin), long / shapes.aspects[aspect] * (gy * cos - gx * sin))
            key = best_garden(
                work.leads, count, height, slope, tilt, work.rooms, least, aspect // 2, threat, kept_all, p, work.trial
            )
            if key < best:
                best = key
                served = 0
                for i in range(9):
                    out[i] = work.trial[i]
                for i in range(count):
                    served += (int(out[2]) >> i) & 1
                out[9] = served
                out[10] = shape
                out[11] = count
                out[12] = height
                out[13] = tilt
            if best < NO_KEY and out[4] == 0 and out[8] == 1.0 and out[9] == count:
                break
    return best
