import numpy as np
import pandas as pd

from screening.ranking.visit_list import first_visits, visits_of
from screening.rules import Rules


def test_visits_go_by_rank_and_pass_over_full_streets():
    rank = np.array([3, 1, 0, 2, 4, 5])
    street = np.array(["a", "a", "a", "a", "b", ""], dtype=object)
    assert first_visits(rank, street, 3).tolist() == [True, True, False, True, False, False]
    assert first_visits(rank, street, 3, 1).tolist() == [False, True, False, False, True, True]
    assert first_visits(rank, street, 9, 2).tolist() == [False, True, False, True, True, True]
    assert not first_visits(rank, street, 0).any()


def test_lots_without_a_rank_or_a_street_are_known():
    lots = pd.DataFrame(
        {"rank": pd.array([2, None, 1], dtype="Int64"), "street": pd.array([None, "a", None], dtype="str")}
    )
    assert visits_of(lots, Rules(visits=5, visits_of_street_most=1)).tolist() == [False, False, True]
