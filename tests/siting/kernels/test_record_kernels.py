from typing import Any, NamedTuple

import numpy as np
import pytest

from screening.siting.kernels.garden_kernels import FAILS, NO_KEY
from screening.siting.kernels.line_kernels import DETAILS, RECORD
from screening.siting.kernels.record_kernels import ground_at, hold_against, judge_overflow, take
from tests.siting.kernels.limits import limits_of

EAST = np.full((40, 40), 1, dtype=np.uint8)


class Terrain(NamedTuple):
    """What these kernels read of the world."""

    plane: Any
    east: Any
    rise_north: Any
    ends: Any
    direction: Any


def falling_east(ends):
    """A plane that falls to the east by 4%, 100 m high at its west edge."""
    middle = np.arange(40) + 0.5
    plane = np.tile(100.0 - 0.04 * middle, (40, 1))
    return Terrain(plane, np.full((40, 40), -0.04), np.zeros((40, 40)), ends, EAST)


def record(x, y, code=0.0, against=0.0):
    one = np.zeros(RECORD)
    one[4], one[5], one[DETAILS], one[DETAILS + 1] = code, against, x, y
    one[14], one[15] = int((40 - y) * 2), int(x * 2)
    return one


@pytest.mark.parametrize("kernel", [judge_overflow, judge_overflow.py_func])
def test_only_water_that_meets_a_building_counts_against_a_garden(kernel):
    limits = limits_of(40.0, overflow_reach_m=30.0)
    house = np.zeros((40, 40), dtype=np.int32)
    house[:, 20] = 4
    for ends in (np.zeros((40, 40), dtype=np.int32), np.where(house > 0, -1, 0).astype(np.int32)):
        free = record(10.5, 16.5)
        assert kernel(free, falling_east(ends), limits) == 0
        assert free[:-1].tolist() == record(10.5, 16.5)[:-1].tolist()
        assert free[-1] == -1.0
    met = record(10.5, 16.5)
    assert kernel(met, falling_east(house), limits) == (1 << 36) + (1 << 39)
    assert met[[4, 5, -1]].tolist() == [1.0, 1.0, 4.0]  # and which building it is
    doubted = record(10.5, 16.5, code=1.0, against=2.0)
    assert kernel(doubted, falling_east(house), limits) == 1 << 36
    assert doubted[4:6].tolist() == [1.0, 3.0]
    failed = record(10.5, 16.5, code=float(FAILS))
    assert kernel(failed, falling_east(house), limits) == 0
    assert failed[[5, -1]].tolist() == [0.0, 0.0]


@pytest.mark.parametrize("kernel", [hold_against, hold_against.py_func])
def test_what_a_building_below_counts_against_a_garden(kernel):
    sure, doubted, failed = record(1.0, 1.0), record(1.0, 1.0, 1.0, 2.0), record(1.0, 1.0, float(FAILS), 4.0)
    assert [kernel(one) for one in (sure, doubted, failed)] == [(1 << 36) + (1 << 39), 1 << 36, 0]
    assert [one[4:6].tolist() for one in (sure, doubted, failed)] == [[1.0, 1.0], [1.0, 3.0], [FAILS, 4.0]]


@pytest.mark.parametrize("kernel", [take, take.py_func])
def test_who_stands_too_near_a_garden_that_is_taken_leaves_the_line(kernel):
    limits = limits_of(40.0)
    limits["apart"], limits["alternate_distance"] = 2.0, 5.0
    records = np.array([record(x, 10.0) for x in (10.0, 11.9, 12.0, 14.9, 15.0)])
    keys, close, kept = np.arange(5), np.zeros(5, dtype=np.int8), np.full(RECORD, np.nan)
    kernel(0, 5, records, keys, close, kept, limits)
    assert kept.tolist() == records[0].tolist()
    assert keys.tolist() == [NO_KEY, NO_KEY, 2, 3, 4]
    assert close.tolist() == [1, 1, 1, 1, 0]


@pytest.mark.parametrize("kernel", [ground_at, ground_at.py_func])
def test_ground_between_the_middles_of_elevation_cells(kernel):
    ground = np.zeros(6)
    kernel(record(10.75, 16.25), falling_east(np.zeros((40, 40), dtype=np.int32)), limits_of(40.0), ground)
    assert ground[3] == pytest.approx(100.0 - 0.04 * 10.75, abs=1e-12)
    assert ground[4:].tolist() == [-0.04, 0.0]
