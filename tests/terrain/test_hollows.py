"""The table of hollows and which of them are kept."""

import numpy as np

from screening.terrain import PARTS_PER_UNIT, Hollows, KeepHollows


def table() -> Hollows:
    number = np.array([3, 9, 20])
    return Hollows(
        first_cell=number,
        lowest_cell=number + 1,
        level=np.array([5.0, 6, 7]),
        depth_parts=np.array([PARTS_PER_UNIT // 2, 2 * PARTS_PER_UNIT, PARTS_PER_UNIT]),
        volume_parts=np.array([PARTS_PER_UNIT, 9 * PARTS_PER_UNIT, 4 * PARTS_PER_UNIT]),
        cells=np.array([40, 10, 90]),
        enclosed=np.array([False, False, True]),
    )


def test_measures_in_metres() -> None:
    hollows = table()
    assert len(hollows) == 3
    assert hollows.depth_m(0.5).tolist() == [0.25, 1.0, 0.5]
    assert hollows.area_m2(4.0).tolist() == [160, 40, 360]
    assert hollows.volume_m3(4.0, 0.5).tolist() == [2, 18, 8]


def test_keeps_deep_or_large_ones() -> None:
    hollows = table()
    assert KeepHollows().choose(hollows, 1.0, 1.0).tolist() == [False, False, False]
    assert KeepHollows(depth_m=0.9).choose(hollows, 1.0, 1.0).tolist() == [False, True, True]
    assert KeepHollows(depth_m=0.9).choose(hollows, 1.0, 0.5).tolist() == [False, True, False]
    # a court is large as a whole, whatever stands in it
    assert KeepHollows(area_m2=30).choose(hollows, 1.0, 1.0).tolist() == [True, False, False]
