"""Records of gardens on a lot's line: the ground under them, what is kept of them, and the ones that are taken."""

from __future__ import annotations

from typing import Any

from screening.jit import compiled
from screening.siting.kernels.centre_kernels import MOST_LEADS
from screening.siting.kernels.garden_kernels import AGAINST, DOUBTED, FAILS, NO_KEY
from screening.siting.kernels.line_kernels import DETAILS, RECORD
from screening.siting.kernels.streamline_kernels import garden_overflow

__all__ = ["ground_at", "hold_against", "judge_overflow", "keep_garden", "take"]


@compiled
def keep_garden(record: Any, slope: float, leads: Any, numbers: Any) -> None:
    """Copy the garden that was found into its record."""
    for i in range(14):
        record[i] = numbers[2, i]
    water = 0.0
    runs = 0.0
    for i in range(MOST_LEADS):
        record[20 + i] = -1.0
        record[20 + MOST_LEADS + i] = 0.0
        if i < int(record[11]) and (int(record[2]) >> i) & 1:
            water += leads[6, i] * record[8]
            runs += leads[1, i]
            record[20 + i] = leads[7, i]
            record[20 + MOST_LEADS + i] = leads[8, i]
    record[17] = water
    record[18] = runs / max(record[9], 1.0)
    record[19] = slope


@compiled
def hold_against(record: Any) -> int:
    """Mark a garden whose overflow runs on to a building; how much that adds to its key."""
    if record[4] >= FAILS:
        return 0
    worse = AGAINST + (DOUBTED if record[4] == 0.0 else 0)
    record[4] = 1.0
    record[5] += 1.0
    return worse


@compiled
def judge_overflow(record: Any, world: Any, p: Any) -> int:
    """Follow a garden's overflow, and mark the garden where it runs on to a building; how much that adds to its key."""
    if record[4] >= FAILS:
        return 0
    x = record[DETAILS]
    y = record[DETAILS + 1]
    record[DETAILS + 2] = garden_overflow(x, y, world.ends, world.east, world.rise_north, world.direction, p)
    return int(hold_against(record)) if record[DETAILS + 2] > 0.0 else 0


@compiled
def take(at: int, count: int, records: Any, keys: Any, close: Any, kept: Any, p: Any) -> None:
    """Keep a garden: those apart from it by too little leave the line, those near it are marked as close."""
    for i in range(RECORD):
        kept[i] = records[at, i]
    keys[at] = NO_KEY
    for i in range(count):
        dx = records[i, DETAILS] - records[at, DETAILS]
        dy = records[i, DETAILS + 1] - records[at, DETAILS + 1]
        away2 = dx * dx + dy * dy
        if away2 < p.apart * p.apart:
            keys[i] = NO_KEY
        if away2 < p.alternate_distance * p.alternate_distance:
            close[i] = 1


@compiled
def ground_at(record: Any, world: Any, p: Any, ground: Any) -> None:
    """Height of the ground's plane at a centre, and its gradient east and north, into ``ground[3:6]``."""
    row = int(record[14]) // 2
    column = int(record[15]) // 2
    gx = world.east[row, column]
    gy = world.rise_north[row, column]
    height = world.plane[row, column] + gx * (record[DETAILS] - (p.west + (column + 0.5) * p.cell_x))
    ground[3] = height + gy * (record[DETAILS + 1] - (p.north - (row + 0.5) * p.cell_y))
    ground[4] = gx
    ground[5] = gy
