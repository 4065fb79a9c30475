import numpy as np
import pytest

from screening.siting.kernels.garden_kernels import NO_KEY
from screening.siting.kernels.line_kernels import BLOCK, DETAILS, RECORD, dominated, next_in_line

KEYS = np.array([40, 10, 20, 10, 90])


def gardens(*places):
    records = np.zeros((len(places), RECORD))
    records[:, DETAILS : DETAILS + 2] = places
    records[:, 20 : 20 + 6] = -1.0
    return records


RECORDS = gardens((0, 0), (1, 0), (8, 0), (30, 0), (30, 1))


NOWHERE = np.zeros(5, dtype=np.int8)


@pytest.mark.parametrize("kernel", [next_in_line, next_in_line.py_func])
def test_smallest_key_comes_next_the_first_of_equals(kernel):
    keys, least = KEYS.copy(), np.array([10])
    assert kernel(keys, least, NOWHERE, 5, RECORDS, 100, 0, False, False) == 1
    assert kernel(keys, least, NOWHERE, 5, RECORDS, 10, 0, False, False) == -1
    keys[1] = NO_KEY
    assert kernel(keys, least, NOWHERE, 5, RECORDS, 100, 0, False, False) == 3
    # those close to one that is chosen are passed over
    close = np.array([1, 1, 1, 0, 0], dtype=np.int8)
    assert kernel(keys, least, close, 3, RECORDS, 100, 0, True, False) == -1
    assert least.tolist() == [NO_KEY]  # nothing in the block is far, nor will be
    least[:] = 0
    assert kernel(keys, least, close, 5, RECORDS, 100, 0, True, False) == 3
    assert least.tolist() == [10]
    least[:] = 0
    assert kernel(keys, least, close, 3, RECORDS, 100, 0, False, False) == 2
    assert least.tolist() == [20]


@pytest.mark.parametrize("kernel", [next_in_line, next_in_line.py_func])
def test_blocks_whose_least_is_noted_are_read_only_where_it_matters(kernel):
    keys = np.arange(100, 100 + 3 * BLOCK)
    keys[2 * BLOCK + 5] = 7
    records, close = np.zeros((3 * BLOCK, RECORD)), np.zeros(3 * BLOCK, dtype=np.int8)
    least = np.array([0, 110, 0])  # below all of them, as it may be once keys have grown
    assert kernel(keys, least, close, 3 * BLOCK, records, NO_KEY, 0, False, False) == 2 * BLOCK + 5
    assert least.tolist() == [100, 110, 7]  # the second block was not read: the first has 100
    keys[2 * BLOCK + 5] = NO_KEY
    assert kernel(keys, least, close, 2 * BLOCK + 6, records, NO_KEY, 0, False, False) == 0


@pytest.mark.parametrize("kernel", [next_in_line, next_in_line.py_func])
def test_second_garden_shares_no_downspout(kernel):
    records = RECORDS.copy()
    records[:, 20] = [5, 4, 5, 4, 3]
    records[3, 21] = 5
    keys = np.array([NO_KEY, NO_KEY, 20, 10, 90])
    assert kernel(keys, np.array([10]), NOWHERE, 5, records, 100, 0, False, True) == 4


@pytest.mark.parametrize("kernel", [dominated, dominated.py_func])
def test_no_better_in_anything_is_dominated(kernel):
    old = np.zeros((1, RECORD))
    old[0, [17, 1, 18, 6, 19]] = 60.0, 12.0, 7.0, 0.1, 0.03  # water, room, mean run, margin, slope
    chosen = np.zeros(8, dtype=np.int64)
    assert kernel(old[0], old, chosen, 1)
    for column, better in ((17, 61.0), (1, 13.0), (18, 6.0), (6, 0.15), (19, 0.02)):
        new = old[0].copy()
        new[column] = better
        assert not kernel(new, old, chosen, 1), column
        assert not kernel(new, old, chosen, 0)
