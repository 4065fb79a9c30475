"""The search of each lot: every centre on a lattice, the best of them checked in vectors, a few kept.

Room read from mask cells is never less than the room that the segments leave, so a key from mask cells is hardly ever
worse than the exact one (with less room another shape may be taken, whose lip lies easier): when the best of all keys
is exact, it is the best of all, and when it fails, everything fails. A key as if there were all the room is never worse
than either and quick to find, so it decides whose room is read.
Where everything on the lattice fails or is too small the lot is searched again on a finer one; what passes is what
passes on either, so tighter limits never add a lot.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from screening.jit import compiled
from screening.siting.kernels.centre_kernels import (
    LEAD_ROWS,
    LONGEST,
    MOST_LEADS,
    best_shape,
    drop_hopeless,
    find_leads,
    hopeless,
)
from screening.siting.kernels.ellipse_kernels import near_segments
from screening.siting.kernels.garden_kernels import AGAINST, DOUBTED, FAILS, NO_KEY, hoped_key, tabulate_subsets
from screening.siting.kernels.line_kernels import (
    BLOCK,
    DETAILS,
    EXACT,
    GUESSED,
    JUDGED,
    RECORD,
    ROUGH,
    dominated,
    next_in_line,
)
from screening.siting.kernels.record_kernels import ground_at, hold_against, judge_overflow, keep_garden, take
from screening.siting.kernels.room_kernels import CLOSED, LOOK, cell_offsets, clear_runs
from screening.siting.kernels.window_kernels import core_clear, fill_level, lot_window, next_centre

__all__ = ["DETAILS", "RECORD", "search_lots"]

PASSED = FAILS * DOUBTED
"""Keys below it pass."""

UNKNOWN, SPARES, FLOODS = 0, 1, 2
"""What is known of a garden's overflow before its room is. Its place alone decides that, and counts against it at least
as much as against the garden that could be hoped for, so that of the many on a lot that flood a building few have to be
known exactly. Not where a lot may have two gardens: which is the second hangs on the downspouts of those known so."""

SMALL_M = 1e-9
"""More than what rounding does to a height."""

WIDTHS = 64
"""Windows are so many columns wide, or a multiple of it, so that most lots share one."""


@compiled
def search_lots(first_lot: int, last_lot: int, world: Any, work: Any, kept: Any, tried: Any) -> int:
    """Search lots ``first_lot`` to ``last_lot``; writes ``kept``, shape (lots, most, RECORD), and ``tried``.

    Returns ``last_lot``, or the first lot whose centres ``work`` has not room for.

    ``kept``: NaN where nothing is kept; else a garden's record. ``tried``: open mask cells within reach,
    centres with a lead (of the finer lattice: with a garden), whether the finer lattice was searched.
    """
    p = world.limits
    place = work.place
    chosen = work.chosen
    span = work.span
    level = work.level
    runs = work.runs
    near = work.near
    aside = work.aside
    offsets = work.offsets
    row_offsets = work.row_offsets
    keys = work.keys
    state = work.state
    close = work.close
    warned = work.warned
    hopes = work.hopes
    least = work.least
    records = work.records
    leads = work.leads
    most = world.sizes_m2[world.sizes_m2.shape[0] - 1]
    longest = math.sqrt(most * LONGEST / math.pi)
    width: int = np.int64(0)  # type: ignore[assignment]
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
            cell_offsets(world.rows, width, row_offsets)
        cells = place[4] * (place[1] - place[0] + 2 * p.template_reach)
        tried[lot, 0] = fill_level(lot, place, world, level[:cells])
        for kind in range(LOOK, CLOSED + 1):
            if (place[8] >> kind) & 1:
                clear_runs(place, p.template_reach, level, kind, world.reached.shape[2] - 1, runs[kind - 1, :cells])
        for i in range(2):
            span[i] = world.lots[lot + i].first_spout
            span[2 + i] = world.lots[lot + i].first_bar
        # plain literals would make the compiler compile what they are passed to twice
        count: int = np.int64(0)  # type: ignore[assignment]
        taken: int = np.int64(0)  # type: ignore[assignment]
        fine: int = np.int64(0)  # type: ignore[assignment]
        bound: int = np.int64(NO_KEY)  # type: ignore[assignment]
        again: int = np.int64(-1)  # type: ignore[assignment]
        wide = False
        second = False
        tried_second = False
        place[7] = -1
        scanning = tried[lot, 0] > 0
        while taken < kept.shape[1]:
            at = count
            if scanning:
                step = EXACT if fine == 1 else GUESSED
                if count == keys.shape[0]:
                    return lot
                scanning = next_centre(records[count], fine, place, level, p)
                if not scanning:
                    continue
            else:
                second = p.gardens == 2 and taken == p.alternates + 1 and not tried_second
                at = again
                if at < 0:
                    at = next_in_line(keys, least, close, count, records, bound, chosen[0], wide, second)
                again = np.int64(-1)  # type: ignore[assignment]
                step = JUDGED + 1 if at < 0 else state[at] + 1
                if second and step > JUDGED:
                    tried_second = True
                if second and at < 0:
                    continue
                if (
                    at >= 0
                    and step > ROUGH
                    and not second
                    and (step > EXACT or warned[at] != FLOODS)
                    and taken > p.alternates
                    and dominated(records[at], records, chosen, taken)
                ):
                    keys[at] = NO_KEY
                    continue
                if step > JUDGED:
                    if taken == 0 and fine == 0 and (at < 0 or keys[at] >= PASSED or records[at, 7] == 0.0):
                        fine = np.int64(1)  # type: ignore[assignment]
                        place[7] = -1
                        scanning = tried[lot, 0] > 0
                        continue
                    if at < 0 and wide and bound < NO_KEY:
                        wide = False
                        least[:] = 0  # close ones count again
                        continue
                    if at < 0:
                        break
                    if keys[at] < PASSED:
                        bound = np.int64(PASSED)  # type: ignore[assignment]
                    take(at, count, records, keys, close, kept[lot, taken], p)
                    chosen[taken] = at
                    taken += 1
                    wide = taken <= p.alternates
                    if not wide:
                        least[:] = 0
                    if bound == NO_KEY and not wide:
                        break  # of what fails, a few suffice to say why
                    continue
            if step == EXACT and not scanning and warned[at] == UNKNOWN and p.gardens == 1:
                worse = judge_overflow(records[at], world, p)
                warned[at] = FLOODS if worse > 0 else SPARES
                if worse > 0:
                    hoped = hopes[at] + AGAINST + (DOUBTED if hopes[at] < DOUBTED else 0)
                    if hoped > keys[at]:
                        keys[at] = hoped
                        continue
            if step == JUDGED:
                state[at] = JUDGED
                worse = judge_overflow(records[at], world, p) if warned[at] == UNKNOWN else 0
                keys[at] += worse
                if worse == 0:
                    again = at
                continue
            row = int(records[at, 14])
            column = int(records[at, 15])
            cell = (row - place[0] + p.template_reach) * place[4] + column - place[2] + p.template_reach
            covered = p.core_between if fine == 1 else world.core.shape[0]
            if scanning and not core_clear(level, cell, place[4], world.core, covered):
                continue
            x = records[at, DETAILS]
            y = records[at, DETAILS + 1]
            ground_at(records[at], world, p, work.numbers[3])
            height = work.numbers[3, 3]
            slope = math.hypot(work.numbers[3, 4], work.numbers[3, 5])
            lowest = height - min(slope * longest, 0.5 * p.cut_most)
            mine = leads[LEAD_ROWS * at : LEAD_ROWS * at + LEAD_ROWS]
            key = NO_KEY
            segments = -1
            if step == EXACT:
                segments = near_segments(
                    x, y, longest + p.ring, p.least_half_width + p.ring, world.segs, world.lots[lot].first_seg,
                    world.lots[lot + 1].first_seg, near, aside,
                )  # fmt: skip
            if scanning:
                served = 0
                if math.isfinite(height) and (segments >= 0 or fine == 0):
                    served = find_leads(x, y, height, world.spouts, world.bars, world.plane, span, p, mine)
                hopeful = drop_hopeless(lowest, served, mine)
                if served == 0 or (fine == 1 and hopeful == 0):
                    continue
                records[at, 11] = hopeful if hopeful > 0 else served
            served = int(records[at, 11])
            tabulate_subsets(mine, served, work.subsets)
            if step == GUESSED:
                key = hoped_key(work.subsets, served, lowest - SMALL_M, slope, most, world.lots[lot].kept_all, p)
                records[at, 20 : 20 + MOST_LEADS] = -1.0
            elif step < EXACT or segments >= 0:
                key = best_shape(
                    x, y, cell, level, runs, place[8], segments, records[at, 16] == 1.0, not hopeless(lowest, mine, 0),
                    served, world.lots[lot].kept_all, world.lots[lot].house_direction, near, aside, world.segs, offsets,
                    row_offsets, world.first_cell, world.first_row, world.rows, world.reached, world.sizes_m2,
                    world.aspects, world.directions, p, work.subsets, work.flags, work.numbers,
                )  # fmt: skip
                keep_garden(records[at], slope, mine, work.numbers)
                if step == EXACT and not scanning and warned[at] == FLOODS and key < NO_KEY:
                    key += hold_against(records[at])
                    step = JUDGED
            if scanning and fine == 1 and key >= PASSED:
                continue
            if key == keys[at] and not scanning and not second:
                again = at  # it is next in line still
            keys[at] = key
            state[at] = step
            least[at // BLOCK] = key if scanning and at % BLOCK == 0 else min(least[at // BLOCK], key)
            if scanning:
                close[at] = 0
                records[at, DETAILS + 2] = math.nan
                warned[at] = UNKNOWN
                hopes[at] = key
                count += 1
        tried[lot, 1] = count
        tried[lot, 2] = fine
    return last_lot
