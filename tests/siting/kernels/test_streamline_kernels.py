import math

import numpy as np
import pytest

from screening.siting.kernels.streamline_kernels import cells_way, fall_lines, garden_overflow, garden_overflows
from tests.siting.kernels.limits import limits_of

CELLS = limits_of(40.0, overflow_reach_m=30.0)
EAST = np.full((40, 40), 1, dtype=np.uint8)


def ground(turn_deg, slope=0.04):
    """Gradient of a plane that falls in a direction, anticlockwise from east."""
    east = np.full((40, 40), -slope * math.cos(math.radians(turn_deg)))
    north = np.full((40, 40), -slope * math.sin(math.radians(turn_deg)))
    return east, north


def fall_line(kernel, x, y, ends, east, north):
    """What one line meets; the other of the two, from outside, meets nothing and changes nothing."""
    met, outside = kernel(x, y, -1.0, 20.0, ends, east, north, CELLS)
    assert outside == -1
    assert kernel(-1.0, 20.0, x, y, ends, east, north, CELLS) == (-1, met)
    return met


@pytest.mark.parametrize("kernel", [fall_lines, fall_lines.py_func])
def test_line_keeps_its_direction_between_the_eight(kernel):
    # 22 degrees off the axis: 10 m on it is 4 m aside
    ends = np.zeros((40, 40), dtype=np.int32)
    ends[40 - 19 - 1, 20] = 3  # the cell x 20-21, y 19-20
    assert fall_line(kernel, 10.5, 15.5, ends, *ground(22.0)) == 3
    assert fall_line(kernel, 10.5, 15.5, ends, *ground(0.0)) == -1


@pytest.mark.parametrize("kernel", [fall_lines, fall_lines.py_func])
def test_what_ends_the_way_ends_it(kernel):
    ends = np.zeros((40, 40), dtype=np.int32)
    ends[:, 15] = -1
    ends[:, 20] = 3
    assert fall_line(kernel, 10.5, 15.5, ends, *ground(0.0)) == -1
    assert fall_line(kernel, 17.5, 15.5, ends, *ground(0.0)) == 3


def test_flat_ground_has_no_line():
    ends = np.zeros((40, 40), dtype=np.int32)
    assert fall_line(fall_lines, 10.5, 15.5, ends, *ground(0.0, 0.0005)) == 0


def test_a_garden_beside_a_setback_does_not_enter_it_by_lying_there():
    ends = np.zeros((40, 40), dtype=np.int32)
    ends[:, 9:11] = 5
    assert fall_line(fall_lines, 10.5, 15.5, ends, *ground(0.0)) == -1


def one_cell(north, label=4):
    """Nothing but one cell of a setback at x 20-21."""
    ends = np.zeros((40, 40), dtype=np.int32)
    ends[40 - north - 1, 20] = label
    return ends


@pytest.mark.parametrize("kernel", [garden_overflow, garden_overflow.py_func])
def test_two_of_three_ways_out_of_a_garden_must_meet_a_building(kernel):
    """Water falls east from the middle of the garden and from 1.5 m to either side: let out elsewhere, it passes."""
    east, north = ground(0.0)
    wide = np.maximum(one_cell(17), one_cell(16))
    wide = np.maximum(wide, one_cell(15))
    assert kernel(10.5, 16.6, wide, east, north, EAST, CELLS) == 4  # middle at 16.6, sides at 15.1 and 18.1
    assert kernel(10.5, 16.6, one_cell(16), east, north, EAST, CELLS) == -1
    assert kernel(10.5, 16.6, one_cell(18), east, north, EAST, CELLS) == -1
    both = np.maximum(one_cell(18), one_cell(15))
    assert kernel(10.5, 16.6, both, east, north, EAST, CELLS) == 4


@pytest.mark.parametrize("kernel", [fall_lines, fall_lines.py_func])
def test_a_building_beyond_reach_does_not_count(kernel):
    near = limits_of(40.0, overflow_reach_m=8.0)
    east, north = ground(0.0)
    assert kernel(10.5, 16.5, 10.5, 20.5, one_cell(16), east, north, CELLS) == (4, -1)
    assert kernel(10.5, 16.5, 10.5, 20.5, one_cell(16), east, north, near) == (-1, -1)


@pytest.mark.parametrize("kernel", [cells_way, cells_way.py_func])
def test_from_cell_to_cell(kernel):
    """Nine cells east to the setback; in south-east steps each counts 1.41 m."""
    near = limits_of(40.0, overflow_reach_m=9.0)
    assert kernel(23, 11, one_cell(16), EAST, CELLS) == 4
    assert kernel(23, 11, one_cell(16), EAST, near) == 4
    assert kernel(23, 10, one_cell(16), EAST, near) == -1
    south_east = np.full((40, 40), 2, dtype=np.uint8)
    assert kernel(15, 12, one_cell(16), south_east, CELLS) == 4  # eight steps of 1.41 m
    assert kernel(15, 12, one_cell(16), south_east, near) == -1
    stopped = one_cell(16)
    stopped[23, 15] = -1
    assert kernel(23, 11, stopped, EAST, CELLS) == -1
    pit = EAST.copy()
    pit[23, 15] = 0
    assert kernel(23, 11, one_cell(16), pit, CELLS) == -1


def test_flat_ground_goes_by_cells():
    east, north = ground(0.0, 0.0005)
    out = np.zeros(2, dtype=np.int64)
    garden_overflows(np.array([10.5, 10.5]), np.array([16.5, 20.5]), one_cell(16), east, north, EAST, CELLS, out)
    assert out.tolist() == [4, -1]
