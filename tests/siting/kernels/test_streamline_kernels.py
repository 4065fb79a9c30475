import math

import numpy as np
import pytest

from screening.siting.kernels.streamline_kernels import fall_line, garden_overflow, garden_overflows

CELLS = np.rec.array([(0.0, 40.0, 1.0, 1.0)], names="west,north,cell_x,cell_y")[0]


def ground(turn_deg, slope=0.04):
    """Gradient of a plane that falls in a direction, anticlockwise from east."""
    east = np.full((40, 40), -slope * math.cos(math.radians(turn_deg)))
    north = np.full((40, 40), -slope * math.sin(math.radians(turn_deg)))
    return east, north


@pytest.mark.parametrize("kernel", [fall_line, fall_line.py_func])
def test_line_keeps_its_direction_between_the_eight(kernel):
    # 22 degrees off the axis: 10 m on it is 4 m aside
    ends = np.zeros((40, 40), dtype=np.int32)
    ends[40 - 19 - 1, 20] = 3  # the cell x 20-21, y 19-20
    assert kernel(10.5, 15.5, ends, *ground(22.0), CELLS) == 3
    assert kernel(10.5, 15.5, ends, *ground(0.0), CELLS) == -1


@pytest.mark.parametrize("kernel", [fall_line, fall_line.py_func])
def test_what_ends_the_way_ends_it(kernel):
    ends = np.zeros((40, 40), dtype=np.int32)
    ends[:, 15] = -1
    ends[:, 20] = 3
    assert kernel(10.5, 15.5, ends, *ground(0.0), CELLS) == -1
    assert kernel(17.5, 15.5, ends, *ground(0.0), CELLS) == 3


def test_flat_ground_has_no_line():
    ends = np.zeros((40, 40), dtype=np.int32)
    assert fall_line(10.5, 15.5, ends, *ground(0.0, 0.0005), CELLS) == 0


def test_a_garden_beside_a_setback_does_not_enter_it_by_lying_there():
    ends = np.zeros((40, 40), dtype=np.int32)
    ends[:, 9:11] = 5
    assert fall_line(10.5, 15.5, ends, *ground(0.0), CELLS) == -1


def test_either_side_of_the_garden_counts():
    ends = np.zeros((40, 40), dtype=np.int32)
    ends[40 - 17 - 1, 20] = 4  # the cell y 17-18
    east, north = ground(0.0)
    assert fall_line(10.5, 15.9, ends, east, north, CELLS) == -1
    for kernel in (garden_overflow, garden_overflow.py_func):
        assert kernel(10.5, 15.9, ends, east, north, CELLS) == 4
        assert kernel(10.5, 10.5, ends, east, north, CELLS) == -1
    out = np.zeros(2, dtype=np.int64)
    garden_overflows(np.array([10.5, 10.5]), np.array([15.9, 10.5]), ends, east, north, CELLS, out)
    assert out.tolist() == [4, -1]
