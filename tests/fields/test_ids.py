import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from screening.fields import rows_of

LOTS = pd.array(["b", "a", "é 1"], dtype="str")


def test_words_are_found_where_they_stand():
    assert rows_of(LOTS, pd.Series(["a", "c", None, "é 1", "a"], dtype="str")).tolist() == [1, -1, -1, 2, 1]
    assert rows_of(["a", "b"], pd.Series(["b", "a"], dtype=object)).tolist() == [1, 0]
    assert rows_of(LOTS, []).tolist() == []


def test_what_is_missing_is_no_word():
    assert rows_of(pd.array(["a", None], dtype="str"), pd.array([None, "a"], dtype="str")).tolist() == [-1, 0]


@given(st.lists(st.text(max_size=3), unique=True), st.lists(st.text(max_size=3)))
def test_every_word_is_found_as_an_index_finds_it(known, wanted):
    index = pd.Index(known, dtype=object)
    assert rows_of(known, wanted).tolist() == index.get_indexer(pd.Index(wanted, dtype=object)).tolist()
