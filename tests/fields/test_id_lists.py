import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from screening.fields.id_lists import ids_of, ids_text


def test_ids_with_spaces_commas_and_quotes_come_back():
    ids = ["12 rear", "a, b", 'the "old" one', "|", "\u00e9"]
    assert ids_of(ids_text(ids)) == tuple(sorted(ids))
    assert ids_text(["b", "a 1"]) == '["a 1", "b"]'


def test_no_ids():
    assert ids_of(ids_text([])) == ()
    assert ids_of("") == ()
    assert ids_of(pd.NA) == ()


@given(st.sets(st.text(min_size=1)))
def test_any_ids_come_back(ids):
    assert set(ids_of(ids_text(ids))) == ids
