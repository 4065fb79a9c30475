import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from screening.siting.kernels.burn import put_in_order


@pytest.mark.parametrize("run", [put_in_order, put_in_order.py_func], ids=["compiled", "plain"])
@given(st.lists(st.floats(-1e6, 1e6), max_size=30), st.integers(0, 30), st.integers(0, 30))
def test_a_part_is_put_in_order_and_the_rest_left(run, numbers, first, last):
    values = np.array(numbers, np.float64)
    start, end = sorted((min(first, values.size), min(last, values.size)))
    wanted = np.concatenate([values[:start], np.sort(values[start:end]), values[end:]])
    run(values, start, end)
    np.testing.assert_array_equal(values, wanted)
