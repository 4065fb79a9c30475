import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.errors import BadInput
from screening.ranking.pick import GroupLimit, pick

KNAPSACKS = {
    # Burkardt, knapsack_01 data sets (P01, P02); optima solved again here by enumeration
    "textbook": ([60, 100, 120], [10, 20, 30], 50, 220, [1, 2]),
    "P01": (
        [92, 57, 49, 68, 60, 43, 67, 84, 87, 72],
        [23, 31, 29, 44, 53, 38, 63, 85, 89, 82],
        165,
        309,
        [0, 1, 2, 3, 5],
    ),
    "P02": ([24, 13, 23, 15, 16], [12, 7, 11, 8, 9], 26, 51, [1, 2, 3]),
    # instance from memory, optimum computed
    "seven": ([70, 20, 39, 37, 7, 5, 10], [31, 10, 20, 19, 4, 3, 6], 50, 107, [0, 3]),
}


@pytest.mark.parametrize("name", KNAPSACKS)
def test_published_knapsack_optima(name):
    value, cost, budget, best, items = KNAPSACKS[name]
    found = pick(np.array(value), np.array(cost, float), budget)
    assert found.value == best
    assert np.flatnonzero(found.chosen).tolist() == items
    assert found.proven
    assert found.gap == 0


@pytest.mark.parametrize("name", KNAPSACKS)
def test_a_knapsack_lies_between_greed_and_the_fractional_bound(name):
    value, cost, budget, best, _ = KNAPSACKS[name]
    by_ratio = sorted(range(len(value)), key=lambda item: -value[item] / cost[item])
    room, left, greedy, fractional = budget, budget, 0, 0.0
    for item in by_ratio:
        part = min(cost[item], left)
        left, fractional = left - part, fractional + value[item] * part / cost[item]
        if cost[item] <= room:
            room, greedy = room - cost[item], greedy + value[item]
    assert {"textbook": 160, "P01": 309, "P02": 47, "seven": 102}[name] == greedy
    if name in ("textbook", "P01"):
        assert fractional == pytest.approx({"textbook": 240.0, "P01": 309.0189}[name], abs=1e-4)
    found = pick(np.array(value), np.array(cost, float), budget)
    assert greedy <= found.value <= fractional
    dear = pick(np.array([*value, 10_000]), np.array([*cost, budget + 1], float), budget)
    assert dear.value == best
    assert not dear.chosen[-1]


def brute_force(value, cost, budget, groups, must, never):
    best = None
    for choice in itertools.product([False, True], repeat=len(value)):
        chosen = np.array(choice)
        if (must & ~chosen).any() or (never & chosen).any() or cost[chosen].sum() > budget + 1e-9:
            continue
        counts = [int(chosen[group.members].sum()) for group in groups]
        if any(c < g.least or (g.most is not None and c > g.most) for c, g in zip(counts, groups, strict=True)):
            continue
        total = int(value[chosen].sum())
        best = total if best is None else max(best, total)
    return best


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_equals_brute_force_with_caps_floors_and_lists(data):
    n = data.draw(st.integers(1, 9))
    value = np.array(data.draw(st.lists(st.integers(0, 30), min_size=n, max_size=n)))
    cost = np.array(data.draw(st.lists(st.integers(1, 9), min_size=n, max_size=n)), float)
    budget = data.draw(st.integers(0, 30))
    street = np.array(data.draw(st.lists(st.integers(0, 2), min_size=n, max_size=n)))
    groups = [
        GroupLimit(str(k), np.flatnonzero(street == k), data.draw(st.integers(0, 1)), data.draw(st.integers(1, 3)))
        for k in range(3)
    ]
    must = np.zeros(n, bool)
    never = np.zeros(n, bool)
    must[data.draw(st.integers(0, n - 1))] = data.draw(st.booleans())
    never[data.draw(st.integers(0, n - 1))] = data.draw(st.booleans())
    if (must & never).any():
        never[:] = False
    expected = brute_force(value, cost, budget, groups, must, never)
    if expected is None:
        with pytest.raises(BadInput, match="No pick keeps every cap and floor"):
            pick(value, cost, budget, groups=groups, must=must, never=never)
        return
    found = pick(value, cost, budget, groups=groups, must=must, never=never)
    assert found.value == expected
    assert found.proven
    assert cost[found.chosen].sum() <= budget
    assert not (must & ~found.chosen).any()
    assert not (never & found.chosen).any()


def test_equal_lots_come_back_as_the_first_ones():
    found = pick(np.full(200, 7), np.ones(200), 50)
    assert np.flatnonzero(found.chosen).tolist() == list(range(50))


def test_no_budget_no_lots_and_contradictions():
    assert pick(np.array([5]), np.ones(1), 0).value == 0
    assert pick(np.zeros(0, int), np.zeros(0), 10).chosen.size == 0
    with pytest.raises(BadInput, match="both to be in the pick and not"):
        pick(np.array([5]), np.ones(1), 1, must=np.array([True]), never=np.array([True]))


def test_twenty_thousand_lots_within_a_thousandth_of_the_best():
    rng = np.random.default_rng(3)
    n = 20000
    value = rng.integers(0, 60000, n)
    cost = rng.integers(1500, 9000, n).astype(float)
    street = rng.integers(0, 300, n)
    groups = [GroupLimit(str(k), np.flatnonzero(street == k), 0, 4) for k in range(300)]
    found = pick(value, cost, 400000.0, groups=groups)
    assert cost[found.chosen].sum() <= 400000.0
    assert max(found.chosen[street == k].sum() for k in range(300)) <= 4
    assert found.gap < 0.001
