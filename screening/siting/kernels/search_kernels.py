"""The search of each lot: every centre on a lattice, the best of them checked in vectors, a few kept.

Room read from mask cells is never less than the room that the segments leave, so a key from mask cells is never worse
than the exact one: when the best of all keys is exact, it is the best of all, and when it fails, everything fails.
Where everything on the lattice fails or is too small the lot is searched again on a finer one; what passes is what
passes on either, so tighter limits never add a lot.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from screening.jit import compiled
from screening.siting.kernels.centre_kernels import (
    LONGEST,
    MOST_LEADS,
    best_shape,
    cell_offsets,
    drop_hopeless,
    find_leads,
)
from screening.siting.kernels.ellipse_kernels import near_segments
from screening.siting.kernels.garden_kernels import FAILS, NO_KEY, tabulate_subsets
from screening.siting.kernels.line_kernels import DETAILS, EXACT, JUDGED, ROUGH, USED, dominated, next_in_line
from screening.siting.kernels.streamline_kernels import garden_overflow
from screening.siting.kernels.window_kernels import core_clear, fill_level, lot_window

__all__ = ["DETAILS", "search_lots"]

PASSED = FAILS << 39
"""Keys below it pass."""

WIDTHS = 64
"""Windows are so many columns wide, or a multiple of it, so that most lots share one."""


@compiled
def _keep_garden(record: Any, slope: float, work: Any) -> None:
    """Copy the garden that was found into its record."""
    for i in range(14):
        record[i] = work.numbers[2, i]
    water = 0.0
    runs = 0.0
    for i in range(MOST_LEADS):
        record[20 + i] = -1.0
        record[20 + MOST_LEADS + i] = 0.0
        if i < int(record[11]) and (int(record[2]) >> i) & 1:
            water += work.leads[6, i] * record[8]
            runs += work.leads[1, i]
            record[20 + i] = work.picks[0, i]
            record[20 + MOST_LEADS + i] = work.picks[1, i]
    record[17] = water
    record[18] = runs / max(record[9], 1.0)
    record[19] = slope


@compiled
def _next_centre(record: Any, number: int, fine: int, place: Any, level: Any, p: Any) -> int:
    """Put the next centre of a lattice that is not closed into a record; its number and one, 0 when there is none.

    Numbers run over mask cells by row, in the finer lattice over the points of each cell.
    """
    stride = 1 if fine == 1 else p.stride
    parts = p.fine_parts if fine == 1 else 1
    columns = place[3] - place[2]
    while number < (place[1] - place[0]) * columns * parts * parts:
        part = number % (parts * parts)
        cell = number // (parts * parts)
        row = place[0] + cell // columns
        column = place[2] + cell % columns
        at = (row - place[0] + p.template_reach) * place[4] + column - place[2] + p.template_reach
        if row % stride != 0:
            number += columns * parts * parts - number % (columns * parts * parts)
            continue
        if column % stride != 0 or level[at] == 3:
            number += parts * parts - part
            continue
        x = p.west + (column + (part % parts + 0.5) / parts) * 0.5 * p.cell_x
        y = p.north - (row + (part // parts + 0.5) / parts) * 0.5 * p.cell_y
        record[14] = row
        record[15] = column
        record[16] = fine
        record[DETAILS] = math.floor(x * 1e6 + 0.5) / 1e6
        record[DETAILS + 1] = math.floor(y * 1e6 + 0.5) / 1e6
        return number + 1
    return 0


@compiled(allocates=True)
def _grown(values: Any) -> Any:
    grown = np.empty(2 * values.shape[0], dtype=values.dtype)
    for i in range(values.shape[0]):
        grown[i] = values[i]
    return grown


@compiled(allocates=True)
def _grown_rows(values: Any) -> Any:
    grown = np.empty((2 * values.shape[0], values.shape[1]))
    for i in range(values.shape[0]):
        for j in range(values.shape[1]):
            grown[i, j] = values[i, j]
    return grown


@compiled
def _threatens(record: Any, ends: Any, east: Any, rise_north: Any, direction: Any, p: Any) -> bool:
    """Whether the overflow of a garden runs on to a building."""
    return garden_overflow(record[DETAILS], record[DETAILS + 1], ends, east, rise_north, direction, p) > 0


@compiled(allocates=True)
def search_lots(first_lot: int, last_lot: int, world: Any, work: Any, kept: Any, tried: Any) -> None:
    """Search lots ``first_lot`` to ``last_lot``; writes ``kept``, shape (lots, most, DETAILS + 2), and ``tried``.

    ``kept``: NaN where nothing is kept; else the numbers of a garden, x and y. ``tried``: open mask cells within reach,
    centres with room and a lead, whether the finer lattice was searched.
    """
    p = world.limits
    place = np.zeros(5, dtype=np.int64)
    chosen = np.zeros(kept.shape[1], dtype=np.int64)
    span = np.zeros(4, dtype=np.int64)
    longest = math.sqrt(world.sizes_m2[world.sizes_m2.shape[0] - 1] * LONGEST / math.pi)
    offsets = np.empty((world.cells.shape[0], 2), dtype=np.int64)
    width: int = np.int64(0)  # type: ignore[assignment]
    keys = np.empty(512, dtype=np.int64)
    state = np.empty(512, dtype=np.int8)
    records = np.empty((512, DETAILS + 2))
    for lot in range(first_lot, last_lot):
        for i in range(kept.shape[1]):
            kept[lot, i, 0] = math.nan
        lot_window(lot, world, place)
        if place[0] >= place[1] or place[2] >= place[3]:
            continue
        place[4] = (place[3] - place[2] + 2 * p.template_reach + WIDTHS - 1) // WIDTHS * WIDTHS
        if place[4] != width:
            width = place[4]
            cell_offsets(world.cells, width, offsets)
        level = np.empty(place[4] * (place[1] - place[0] + 2 * p.template_reach), dtype=np.uint8)
        tried[lot, 0] = fill_level(lot, place, world, level)
        near = np.empty(world.lots[lot + 1].first_seg - world.lots[lot].first_seg, dtype=np.int64)
        aside = np.empty((near.shape[0], 3))
        for i in range(2):
            span[i] = world.lots[lot + i].first_spout
            span[2 + i] = world.lots[lot + i].first_bar
        # plain literals would make the compiler compile what they are passed to twice
        count: int = np.int64(0)  # type: ignore[assignment]
        taken: int = np.int64(0)  # type: ignore[assignment]
        fine: int = np.int64(0)  # type: ignore[assignment]
        number: int = np.int64(0)  # type: ignore[assignment]
        bound: int = np.int64(NO_KEY)  # type: ignore[assignment]
        wide = False
        tried_second = False
        scanning = tried[lot, 0] > 0
        while taken < kept.shape[1]:
            at = count
            exact = fine
            if scanning:
                if count == keys.shape[0]:
                    keys = _grown(keys)
                    state = _grown(state)
                    records = _grown_rows(records)
                number = _next_centre(records[count], number, fine, place, level, p)
                if number == 0:
                    scanning = False
                    continue
            else:
                far = p.alternate_distance if wide else 0.0
                second = p.gardens == 2 and taken == p.alternates + 1 and not tried_second
                at = next_in_line(keys, state, count, records, bound, chosen, taken, far, second)
                if second and (at < 0 or state[at] == JUDGED):
                    tried_second = True
                if second and at < 0:
                    continue
                if at >= 0 and not second and taken > p.alternates and dominated(records[at], records, chosen, taken):
                    state[at] = USED
                    continue
                if at < 0 or state[at] == JUDGED:
                    if taken == 0 and fine == 0 and (at < 0 or keys[at] >= PASSED or records[at, 7] == 0.0):
                        fine = np.int64(1)  # type: ignore[assignment]
                        scanning = tried[lot, 0] > 0
                        continue
                    if at < 0 and wide and bound < NO_KEY:
                        wide = False
                        continue
                    if at < 0:
                        break
                    state[at] = USED
                    if keys[at] < PASSED:
                        bound = np.int64(PASSED)  # type: ignore[assignment]
                    for i in range(DETAILS + 2):
                        kept[lot, taken, i] = records[at, i]
                    chosen[taken] = at
                    taken += 1
                    for i in range(count):
                        dx = records[i, DETAILS] - records[at, DETAILS]
                        dy = records[i, DETAILS + 1] - records[at, DETAILS + 1]
                        if dx * dx + dy * dy < p.apart * p.apart:
                            state[i] = USED
                    wide = taken <= p.alternates
                    if bound == NO_KEY and not wide:
                        break  # of what fails, a few suffice to say why
                    continue
                exact = np.int64(1)  # type: ignore[assignment]
            row = int(records[at, 14])
            column = int(records[at, 15])
            if not scanning and state[at] == EXACT:
                state[at] = JUDGED
                if records[at, 4] < FAILS and _threatens(
                    records[at], world.ends, world.east, world.rise_north, world.direction, p
                ):
                    keys[at] += (1 << 36) + ((1 << 39) if records[at, 4] == 0.0 else 0)
                    records[at, 4] = 1.0
                    records[at, 5] += 1.0
                continue
            cell = (row - place[0] + p.template_reach) * place[4] + column - place[2] + p.template_reach
            if scanning and not core_clear(level, cell, place[4], world.core):
                continue
            x = records[at, DETAILS]
            y = records[at, DETAILS + 1]
            row //= 2
            column //= 2
            gx = world.east[row, column]
            gy = world.rise_north[row, column]
            height = world.plane[row, column] + gx * (x - (p.west + (column + 0.5) * p.cell_x))
            height += gy * (y - (p.north - (row + 0.5) * p.cell_y))
            slope = math.hypot(gx, gy)
            between = records[at, 16] == 1.0
            key = NO_KEY
            segments = -1
            leads = 0
            if exact == 1:
                segments = near_segments(
                    x, y, longest + p.ring, p.least_half_width + p.ring, world.segs, world.lots[lot].first_seg,
                    world.lots[lot + 1].first_seg, near, aside,
                )  # fmt: skip
            if math.isfinite(height) and segments >= -1 + exact:
                leads = find_leads(x, y, height, world.spouts, world.bars, world.plane, span, p, work.leads, work.picks)
            hopeful = 0
            if leads > 0:
                hopeful = drop_hopeless(height - min(slope * longest, 0.5 * p.cut_most), leads, work.leads, work.picks)
            if leads > 0 and (hopeful > 0 or not between):
                leads = hopeful if hopeful > 0 else leads
                tabulate_subsets(work.leads, leads, work.subsets)
                work.numbers[3, 3] = height
                work.numbers[3, 4] = gx
                work.numbers[3, 5] = gy
                key = best_shape(
                    x, y, cell, level, segments, between, hopeful, leads, world.lots[lot].kept_all,
                    world.lots[lot].house_direction, near, aside, world.segs, offsets, world.first_cell,
                    world.sizes_m2, world.aspects, world.directions, p, work.subsets, work.picks, work.numbers,
                )  # fmt: skip
            if scanning and (key == NO_KEY or (fine == 1 and key >= PASSED)):
                continue
            keys[at] = key
            state[at] = USED if key == NO_KEY else (EXACT if exact == 1 else ROUGH)
            _keep_garden(records[at], slope, work)
            if scanning:
                count += 1
        tried[lot, 1] = count
        tried[lot, 2] = fine
