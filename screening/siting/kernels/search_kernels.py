"""The search of each lot: every centre on a lattice, the best of them checked in vectors, a few kept.

Room read from mask cells is never less than the room that the segments leave, so a key from mask cells is never worse
than the exact one: when the best of all keys is exact, it is the best of all, and when it fails, everything fails.
Where everything fails on the lattice the lot is searched again on a finer one; what passes is what passes on either,
so tighter limits never add a lot.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from screening.jit import compiled
from screening.siting.kernels.centre_kernels import MOST_LEADS, centre_garden
from screening.siting.kernels.garden_kernels import FAILS, NO_KEY
from screening.siting.kernels.window_kernels import core_clear, fill_level, lot_window

__all__ = ["DETAILS", "search_lots"]

DETAILS = 20
"""Numbers kept of a garden: fourteen of ``centre_garden``; row and column of its mask cell, whether it lies between
their centres; water, mean run and slope, as they are compared."""

PASSED = FAILS << 39
"""Keys below it pass."""

ROUGH, EXACT, USED = 0, 1, 2


@compiled
def _evaluate(record: Any, x: float, y: float, exact: bool, lot: int, place: Any, level: Any, world: Any, work: Any
) -> int:  # fmt: skip
    """Garden at the centre of a record (row, column and kind of its lattice given), written into it."""
    row = int(record[14])
    column = int(record[15])
    border = world.shapes.reach
    at = (row - place[0] + border) * place[4] + column - place[2] + border
    key = centre_garden(
        x, y, row // 2, column // 2, at, level, place[4], exact, record[16] == 1.0, lot, work.kept_all[0], world, work
    )
    if key == NO_KEY:
        return key
    for i in range(14):
        record[i] = work.out[i]
    water = 0.0
    runs = 0.0
    for i in range(int(record[11])):
        if (int(record[2]) >> i) & 1:
            water += work.leads[6, i] * record[8]
            runs += work.leads[1, i]
    record[17] = water
    record[18] = runs / max(record[9], 1.0)
    record[19] = math.hypot(world.ground.east[row // 2, column // 2], world.ground.rise_north[row // 2, column // 2])
    return key


@compiled
def _best(keys: Any, state: Any, count: int, records: Any, most_key: int, chosen: Any, taken: int, far: float) -> int:
    """Number of the smallest key below a bound, not used, and far enough from those chosen; -1 where there is none."""
    best = -1
    for i in range(count):
        if state[i] == USED or keys[i] >= most_key or (best >= 0 and keys[i] >= keys[best]):
            continue
        near = False
        for j in range(taken):
            dx = records[i, DETAILS] - records[chosen[j], DETAILS]
            dy = records[i, DETAILS + 1] - records[chosen[j], DETAILS + 1]
            near = near or dx * dx + dy * dy < far * far
        if not near:
            best = i
    return best


@compiled
def _dominated(new: Any, records: Any, chosen: Any, taken: int) -> bool:
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


@compiled
def _scan(fine: int, lot: int, place: Any, level: Any, keys: Any, records: Any, count: int, world: Any, work: Any
) -> int:  # fmt: skip
    """Try every centre of a lattice, from where ``work.resume`` says until the arrays are full; count the records.

    ``work.resume`` is the next mask row, -1 when the lattice is done.
    """
    p = world.limits
    border = world.shapes.reach
    stride = 1 if fine == 1 else p.stride
    parts = p.fine_parts if fine == 1 else 1
    for row in range(work.resume[0], place[1]):
        if row % stride != 0:
            continue
        if count + (place[3] - place[2]) * parts * parts > keys.shape[0]:
            work.resume[0] = row
            return count
        for column in range(place[2], place[3]):
            at = (row - place[0] + border) * place[4] + column - place[2] + border
            if (
                column % stride != 0
                or level[at] == 3
                or (fine == 1 and not core_clear(level, at, place[4], world.shapes))
            ):
                continue
            for part in range(parts * parts):
                x = world.ground.west + (column + (part % parts + 0.5) / parts) * 0.5 * world.ground.cell_x
                y = world.ground.north - (row + (part // parts + 0.5) / parts) * 0.5 * world.ground.cell_y
                record = records[count]
                record[14] = row
                record[15] = column
                record[16] = fine
                record[DETAILS] = math.floor(x * 1e6 + 0.5) / 1e6
                record[DETAILS + 1] = math.floor(y * 1e6 + 0.5) / 1e6
                key = _evaluate(record, record[DETAILS], record[DETAILS + 1], fine == 1, lot, place, level, world, work)
                if key == NO_KEY or (fine == 1 and key >= PASSED):
                    continue
                keys[count] = key
                count += 1
    work.resume[0] = -1
    return count


@compiled
def search_lots(
    first_lot: int, last_lot: int, world: Any, work: Any, kept: Any, kept_slots: Any, kept_modes: Any, tried: Any
) -> None:
    """Search lots ``first_lot`` to ``last_lot``; writes the ``kept`` arrays, shape (lots, most, ...), and ``tried``.

    ``kept``: NaN where nothing is kept; else the numbers of a garden, x and y. ``tried``: open mask cells within reach,
    centres with room and a lead, whether the finer lattice was searched.
    """
    p = world.limits
    border = world.shapes.reach
    place = np.zeros(5, dtype=np.int64)
    chosen = np.zeros(kept.shape[1], dtype=np.int64)
    for lot in range(first_lot, last_lot):
        kept[lot] = math.nan
        lot_window(lot, world, place)
        if place[0] >= place[1] or place[2] >= place[3]:
            continue
        place[4] = place[3] - place[2] + 2 * border
        level = np.empty(place[4] * (place[1] - place[0] + 2 * border), dtype=np.uint8)
        tried[lot, 0] = fill_level(lot, place, world, level)
        if tried[lot, 0] == 0:
            continue
        work.kept_all[0] = 0.0
        for s in range(world.spouts.first[lot], world.spouts.first[lot + 1]):
            if world.spouts.worth[s]:
                work.kept_all[0] += world.spouts.kept[s]
        size = max(1024, 8 * (place[3] - place[2]) * p.fine_parts**2)
        keys = np.empty(size, dtype=np.int64)
        state = np.zeros(size, dtype=np.int8)
        records = np.empty((size, DETAILS + 2))
        count = 0
        for fine in range(2):
            before = count
            work.resume[0] = place[0]
            while True:
                count = _scan(fine, lot, place, level, keys, records, count, world, work)
                if work.resume[0] < 0:
                    break
                size *= 2
                keys = _grown(keys, size)
                records = _grown_rows(records, size)
                state = _grown(state, size)
            state[before:count] = EXACT if fine == 1 else ROUGH
            best = _front(keys, state, count, records, lot, place, level, world, work, NO_KEY, chosen, 0, 0.0)
            if best >= 0 and keys[best] < PASSED:
                break
            tried[lot, 2] = 1
        tried[lot, 1] = count
        taken = 0
        bound = NO_KEY
        while taken < kept.shape[1]:
            best = -1
            if 0 < taken <= p.alternates:
                far = p.alternate_distance
                best = _front(keys, state, count, records, lot, place, level, world, work, bound, chosen, taken, far)
            if best < 0 and (taken == 0 or bound == PASSED):
                best = _front(
                    keys, state, count, records, lot, place, level, world, work, bound, chosen, taken, p.apart
                )
            if best < 0:
                break
            state[best] = USED
            if taken > p.alternates and _dominated(records[best], records, chosen, taken):
                continue
            if taken == 0 and keys[best] < PASSED:
                bound = PASSED
            _evaluate(
                records[best], records[best, DETAILS], records[best, DETAILS + 1], True, lot, place, level, world, work
            )
            kept[lot, taken] = records[best]
            for i in range(MOST_LEADS):
                served = i < int(records[best, 11]) and (int(records[best, 2]) >> i) & 1
                kept_slots[lot, taken, i] = work.slots[i] if served else -1
                kept_modes[lot, taken, i] = work.modes[i]
            chosen[taken] = best
            taken += 1


@compiled
def _front(
    keys: Any, state: Any, count: int, records: Any, lot: int, place: Any, level: Any, world: Any, work: Any, bound: int,
    chosen: Any, taken: int, far: float,
) -> int:  # fmt: skip
    """Number of the best record once its key is exact; -1 where there is none."""
    while True:
        best = _best(keys, state, count, records, bound, chosen, taken, far)
        if best < 0 or state[best] == EXACT:
            return best
        key = _evaluate(
            records[best], records[best, DETAILS], records[best, DETAILS + 1], True, lot, place, level, world, work
        )
        keys[best] = key
        state[best] = USED if key == NO_KEY else EXACT


@compiled
def _grown(values: Any, size: int) -> Any:
    grown = np.empty(size, dtype=values.dtype)
    grown[: values.shape[0]] = values
    return grown


@compiled
def _grown_rows(values: Any, size: int) -> Any:
    grown = np.empty((size, values.shape[1]))
    grown[: values.shape[0]] = values
    return grown
