"""Direction codes."""

import numpy as np

from screening.terrain.codes import CODE_OF_WAY, COLUMN_STEP, ROW_STEP, linear_steps, step_number


def test_codes_go_clockwise_from_east() -> None:
    names = dict(
        zip(["E", "SE", "S", "SW", "W", "NW", "N", "NE"], zip(ROW_STEP, COLUMN_STEP, strict=True), strict=True)
    )
    assert names["E"] == (0, 1)
    assert names["S"] == (1, 0)
    assert names["NW"] == (-1, -1)
    assert [step_number(code) for code in (1, 2, 4, 8, 16, 32, 64, 128, 0, 255)] == [0, 1, 2, 3, 4, 5, 6, 7, -1, -1]


def test_steps_on_a_raster_of_ten_columns() -> None:
    steps = linear_steps(10)
    assert steps[[1, 2, 4, 8, 16, 32, 64, 128]].tolist() == [1, 11, 10, 9, -1, -11, -10, -9]
    assert steps[[0, 3, 255]].tolist() == [0, 0, 0]


def test_ways_inside_and_out_of_a_tile_have_one_code() -> None:
    np.testing.assert_array_equal(CODE_OF_WAY[:8], CODE_OF_WAY[16:24])
    assert CODE_OF_WAY[[0, 7, 8, 9, 10]].tolist() == [1, 128, 0, 0, 0]
