import numpy as np
import pytest

from screening.siting.kernels.lead_kernels import (
    BARRED,
    BURIED_PAVING,
    CONSENT,
    LOT_LINE,
    SHALLOW_PAVING,
    WALL,
    hump_mode,
    lead_way,
)
from screening.siting.search_arrays import BAR
from tests.siting.kernels.limits import limits_of

HOUSE = [
    (4.4, 12.4, 15.6, 12.4),
    (15.6, 12.4, 15.6, 21.6),
    (15.6, 21.6, 4.4, 21.6),
    (4.4, 21.6, 4.4, 12.4),
]
WALLS = [(*wall, WALL, 7) for wall in HOUSE]


def way(x0, y0, x1, y1, *bars, roof=7, mode=0, consent=0):
    table = np.zeros(len(bars), dtype=BAR)
    for number, bar in enumerate(bars):
        for name, value in zip(BAR.names, bar, strict=True):
            table[name][number] = value
    records = table.view(np.recarray)
    found = [
        kernel(x0, y0, x1, y1, roof, mode, consent, records, 0, len(bars), 1.4)
        for kernel in (lead_way, lead_way.py_func)
    ]
    assert found[0] == found[1]
    return found[0]


def test_straight_over_lawn_is_a_swale():
    assert way(4, 12, 10, 5.5, *WALLS) == 0


def test_through_the_house_is_barred():
    assert way(4, 22, 10, 5.5, *WALLS) == BARRED


def test_along_the_own_house_is_barred_after_three_metres():
    assert way(4, 22, 3.5, 5.0, *WALLS) == BARRED
    assert way(4, 22, -4.0, 5.0, *WALLS) == 0


def test_first_three_metres_may_run_along_the_house():
    assert way(4, 13.5, 3.5, 8.0, *WALLS) == 0
    assert way(4, 17.5, 3.5, 9.0, *WALLS) == BARRED


def test_another_building_may_be_passed_closely_but_not_crossed():
    shed = [(*side, WALL, 8) for side in [(6, 7, 9, 7), (9, 7, 9, 10), (9, 10, 6, 10), (6, 10, 6, 7)]]
    assert way(4, 12, 5.9, 2, *WALLS, *shed) == 0
    assert way(4, 12, 10, 5.5, *WALLS, *shed) == BARRED


def test_lot_line_bars_but_for_the_first_metre():
    assert way(4, 12, 10, 5.5, (0, 8, 20, 8, LOT_LINE, -1)) == BARRED
    assert way(4, 12, 10, 5.5, (0, 11.5, 20, 11.5, LOT_LINE, -1)) == 0


def test_what_is_crossed_adds_up():
    main = (0, 9, 20, 9, CONSENT, -1)
    walk = (0, 8, 20, 8, SHALLOW_PAVING, -1)
    drive = (0, 7, 20, 7, BURIED_PAVING, -1)
    assert way(4, 12, 10, 5.5, main) == 4
    assert way(4, 12, 10, 5.5, walk) == 1
    assert way(4, 12, 10, 5.5, walk, drive) == 2
    assert way(4, 12, 10, 5.5, main, walk) == 5
    assert way(4, 12, 10, 5.5, mode=2, consent=1) == 6


@pytest.mark.parametrize(("height", "mode"), [(0.0, 0), (0.14, 0), (0.25, 1), (0.5, 2), (0.9, BARRED)])
def test_hump_sets_the_depth(height, mode):
    plane = np.zeros((20, 20))
    plane[10, :] = height  # y 9 to 10
    limits = limits_of(20.0)
    assert hump_mode(5.5, 15.0, 0.0, 5.5, 3.0, 0.0, plane, limits) == mode
    assert hump_mode.py_func(5.5, 15.0, 0.0, 5.5, 3.0, 0.0, plane, limits) == mode


def test_hump_under_the_wall_or_the_garden_does_not_count():
    plane = np.zeros((20, 20))
    plane[5:7, :] = 2.0
    limits = limits_of(20.0)
    assert hump_mode(5.5, 15.0, 0.0, 5.5, 3.0, 0.0, plane, limits) == 0


def test_unknown_ground_is_no_hump():
    plane = np.full((20, 20), np.nan)
    limits = limits_of(20.0)
    assert hump_mode(5.5, 15.0, 0.0, 5.5, 3.0, 0.0, plane, limits) == 0


def test_a_wall_may_be_touched_within_five_centimetres_of_the_downspout():
    wall = (0.0, 11.8, 20.0, 11.8, WALL, 8)
    assert way(4, 12, 4, 2, wall) == BARRED  # 0.2 m off, on a lead of 10 m
    assert way(4, 11.84, 4, 2, wall) == 0


def test_a_walk_beyond_a_drive_makes_no_lead_shallower():
    drive, walk = (0, 9, 20, 9, BURIED_PAVING, -1), (0, 7, 20, 7, SHALLOW_PAVING, -1)
    assert way(4, 12, 10, 5.5, drive, walk) == 2
    assert way(4, 12, 10, 5.5, walk, mode=2) == 2
