import numpy as np
import pytest

from screening.siting.kernels.line_kernels import DETAILS, EXACT, ROUGH, USED, dominated, next_in_line

KEYS = np.array([40, 10, 20, 10, 90])


def gardens(*places):
    records = np.zeros((len(places), DETAILS + 2))
    records[:, DETAILS:] = places
    records[:, 20 : 20 + 6] = -1.0
    return records


RECORDS = gardens((0, 0), (1, 0), (8, 0), (30, 0), (30, 1))


@pytest.mark.parametrize("kernel", [next_in_line, next_in_line.py_func])
def test_smallest_key_comes_next_the_first_of_equals(kernel):
    state = np.array([EXACT, ROUGH, ROUGH, ROUGH, ROUGH], dtype=np.int8)
    chosen = np.zeros(8, dtype=np.int64)
    assert kernel(KEYS, state, 5, RECORDS, 100, chosen, 0, 0.0, False) == 1
    assert kernel(KEYS, state, 5, RECORDS, 10, chosen, 0, 0.0, False) == -1
    state[1] = USED
    assert kernel(KEYS, state, 5, RECORDS, 100, chosen, 0, 0.0, False) == 3
    # far from the first: 8 m is not
    assert kernel(KEYS, state, 3, RECORDS, 100, chosen, 1, 10.0, False) == -1
    assert kernel(KEYS, state, 5, RECORDS, 100, chosen, 1, 10.0, False) == 3


@pytest.mark.parametrize("kernel", [next_in_line, next_in_line.py_func])
def test_second_garden_shares_no_downspout(kernel):
    records = RECORDS.copy()
    records[:, 20] = [5, 4, 5, 4, 3]
    records[3, 21] = 5
    state = np.array([USED, USED, ROUGH, ROUGH, ROUGH], dtype=np.int8)
    assert kernel(KEYS, state, 5, records, 100, np.zeros(8, dtype=np.int64), 1, 0.0, True) == 4


@pytest.mark.parametrize("kernel", [dominated, dominated.py_func])
def test_no_better_in_anything_is_dominated(kernel):
    old = np.zeros((1, DETAILS + 2))
    old[0, [17, 1, 18, 6, 19]] = 60.0, 12.0, 7.0, 0.1, 0.03  # water, room, mean run, margin, slope
    chosen = np.zeros(8, dtype=np.int64)
    assert kernel(old[0], old, chosen, 1)
    for column, better in ((17, 61.0), (1, 13.0), (18, 6.0), (6, 0.15), (19, 0.02)):
        new = old[0].copy()
        new[column] = better
        assert not kernel(new, old, chosen, 1), column
        assert not kernel(new, old, chosen, 0)
