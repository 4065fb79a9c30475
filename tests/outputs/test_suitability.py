from __future__ import annotations

from itertools import pairwise

import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.outputs.suitability import suitability_breaks


def test_fifths_are_moved_to_five_points() -> None:
    scores = pd.Series(pd.array([*range(1000, 9000, 80), None], dtype="Int64"))
    assert suitability_breaks(scores) == (2500, 4000, 6000, 7500)


def test_no_scores_give_even_classes() -> None:
    assert suitability_breaks(pd.Series(pd.array([None], dtype="Int64"))) == (2000, 4000, 6000, 8000)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(0, 10000), min_size=1, max_size=60))
def test_breaks_rise_in_steps_of_five_points_inside_the_scale(scores: list[int]) -> None:
    breaks = suitability_breaks(pd.Series(pd.array(scores, dtype="Int64")))
    assert len(breaks) == 4
    assert all(a < b for a, b in pairwise(breaks))
    assert all(edge % 500 == 0 and 0 < edge < 10000 for edge in breaks)
