"""Work shared by threads: results in order, few in flight, the first fault raised once."""

from __future__ import annotations

import threading
import time

import pytest

from screening.blocks.in_threads import in_order


def slow_square(number):
    time.sleep(0.002 * (7 - number % 7))  # later ones end first
    return number * number


@pytest.mark.parametrize("threads", [1, 2, 3])
def test_results_come_in_the_order_of_the_blocks(threads):
    assert list(in_order(slow_square, range(30), threads)) == [n * n for n in range(30)]


@pytest.mark.parametrize("threads", [1, 2, 3])
def test_no_blocks_no_results(threads):
    assert list(in_order(slow_square, [], threads)) == []


@pytest.mark.parametrize("threads", [2, 3])
def test_few_are_taken_before_they_are_asked_for(threads):
    taken = []

    def blocks():
        for number in range(20):
            taken.append(number)
            yield number

    results = in_order(slow_square, blocks(), threads)
    for number in range(20):
        next(results)
        assert len(taken) <= number + 1 + threads
    assert len(taken) == 20


def test_two_threads_work_at_the_same_time():
    both = threading.Barrier(2, timeout=10.0)  # passes only when two wait at it
    assert list(in_order(lambda n: both.wait() >= 0 and n, [1, 2], 2)) == [1, 2]


@pytest.mark.parametrize("threads", [1, 2])
def test_the_first_block_that_fails_is_told_and_the_rest_left(threads):
    begun = []

    def work(number):
        begun.append(number)
        if number in (3, 4):
            raise ValueError(f"block {number}")
        return number

    done = []
    with pytest.raises(ValueError, match="block 3") as raised:
        done += in_order(work, range(1000), threads)
    assert raised.value.__cause__ is None
    assert raised.value.__context__ is None
    assert max(begun) <= 3 + threads
    assert not [thread for thread in threading.enumerate() if thread.name.startswith("block")]


def test_an_interrupt_leaves_no_thread_behind():
    results = in_order(slow_square, range(1000), 2)
    assert next(results) == 0
    with pytest.raises(KeyboardInterrupt):
        results.throw(KeyboardInterrupt)
    assert not [thread for thread in threading.enumerate() if thread.name.startswith("block")]
