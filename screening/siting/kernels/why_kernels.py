"""Why a lot has no candidate: the widest open place on it, and the nearest place with room enough."""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled
from screening.siting.kernels.centre_kernels import LONGEST
from screening.siting.kernels.ellipse_kernels import exact_room, near_segments

__all__ = ["why_none"]

LOOK_PAST = 2.0
"""How far past the longest lead to look for room, as a multiple of it."""


@compiled
def _clearance(x: float, y: float, segs: Any, first: int, last: int, more_than: float) -> float:
    """Least distance to the segments beyond their clearances; stops when it falls to ``more_than`` or less."""
    least = math.inf
    for i in range(first, last):
        px = segs[i].x0 - x
        py = segs[i].y0 - y
        dx = segs[i].x1 - segs[i].x0
        dy = segs[i].y1 - segs[i].y0
        length2 = dx * dx + dy * dy
        t = 0.0
        if length2 > 0.0:
            t = min(max(-(px * dx + py * dy) / length2, 0.0), 1.0)
        least = min(least, math.hypot(px + t * dx, py + t * dy) - segs[i].clearance)
        if least <= more_than:
            break
    return least


@compiled
def _climbed(x: float, y: float, clear: float, step: float, segs: Any, first: int, last: int) -> float:
    """Clearance at the widest place near a point: step aside while that helps, by ever smaller steps."""
    while step > 0.005:
        better = False
        for way in range(8):
            to_x = x + step * math.cos(way * math.pi / 4.0)
            to_y = y + step * math.sin(way * math.pi / 4.0)
            there = _clearance(to_x, to_y, segs, first, last, clear)
            if there > clear:
                clear = there
                x = to_x
                y = to_y
                better = True
        if not better:
            step *= 0.5
    return clear


@compiled
def _has_room(x: float, y: float, world: Any, first: int, last: int, near: Any, aside: Any) -> bool:
    """Whether the smallest garden fits, in any shape and direction."""
    p = world.limits
    most = world.sizes_m2[world.sizes_m2.shape[0] - 1]
    reach = math.sqrt(most * LONGEST / math.pi) + p.ring
    count = near_segments(x, y, reach, p.least_half_width + p.ring, world.segs, first, last, near, aside)
    if count < 0:
        return False
    for aspect in range(world.aspects.shape[0]):
        least = world.aspects[aspect, 1]
        for direction in range(world.directions.shape[0]):
            room = exact_room(
                x, y, world.directions[direction, 0], world.directions[direction, 1], world.aspects[aspect, 0], least,
                least, p.ring, world.segs, near, aside, count,
            )  # fmt: skip
            if room >= least:
                return True
    return False


@compiled
def why_none(lots: Any, world: Any, near: Any, aside: Any, out: Any) -> None:
    """Look again at lots without a candidate.

    ``out``, shape (lots, 3), in place: radius of the widest open place within sight of the downspouts [m]; distance
    from a downspout to the nearest place with room [m], infinite where there is none; the longest lead of that
    downspout [m].
    """
    p = world.limits
    for k in range(lots.shape[0]):
        lot = lots[k]
        out[k, 0] = 0.0
        out[k, 1] = math.inf
        out[k, 2] = p.run_limit
        best_x = 0.0
        best_y = 0.0
        first = world.lots[lot].first_seg
        last = world.lots[lot + 1].first_seg
        bounds = world.lots[lot]
        row_0 = max(math.floor((p.north - bounds.north) / (0.5 * p.cell_y)), 0)
        row_1 = min(math.floor((p.north - bounds.south) / (0.5 * p.cell_y)) + 1, world.lot.shape[0])
        column_0 = max(math.floor((bounds.west - p.west) / (0.5 * p.cell_x)), 0)
        column_1 = min(math.floor((bounds.east - p.west) / (0.5 * p.cell_x)) + 1, world.lot.shape[1])
        for row in range(row_0, row_1):
            for column in range(column_0, column_1):
                if world.lot[row, column] != lot or (world.bits[row, column] & p.closed_bits) != 0:
                    continue
                x = p.west + (column + 0.5) * 0.5 * p.cell_x
                y = p.north - (row + 0.5) * 0.5 * p.cell_y
                away = math.inf
                limit = p.run_limit
                for s in range(world.lots[lot].first_spout, world.lots[lot + 1].first_spout):
                    spout = world.spouts[s]
                    run = math.hypot(x - spout.x, y - spout.y)
                    if spout.worth == 1 and run < away:
                        away = run
                        limit = min(p.run_limit, max(p.run_always, p.run_per_m2 * spout.share))
                if away > LOOK_PAST * p.run_limit:
                    continue
                clear = _clearance(x, y, world.segs, first, last, out[k, 0])
                if clear > out[k, 0]:
                    out[k, 0] = clear
                    best_x = x
                    best_y = y
                if away < out[k, 1] and _has_room(x, y, world, first, last, near, aside):
                    out[k, 1] = away
                    out[k, 2] = limit
        if out[k, 0] > 0.0:
            out[k, 0] = _climbed(best_x, best_y, out[k, 0], 0.25 * p.cell_x, world.segs, first, last)
