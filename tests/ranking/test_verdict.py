import pandas as pd
import pytest

from screening.ranking.verdict import verdicts


def reasons(*rows):
    return pd.DataFrame(rows, columns=["lot_id", "code", "severity", "near"])


def test_heaviest_reason_decides_and_a_lot_without_reason_is_approached():
    ids = pd.Series(["a", "b", "c", "d"])
    found = verdicts(
        ids,
        reasons(
            ("b", "trees_unknown", "note", False),
            ("b", "soil_group", "test soil", False),
            ("c", "soil_group", "test soil", False),
            ("c", "fall", "look closer", False),
            ("d", "slope", "rules out", True),
            ("d", "fall", "rules out", False),
        ),
    ).set_index("lot_id")
    assert list(found.index) == ["a", "b", "c", "d"]
    assert list(found["verdict"]) == ["approach", "test soil first", "look closer", "ruled out"]
    assert list(found["deciding_limit"].fillna("")) == ["", "soil_group", "fall", "fall"]
    assert list(found["next_step"].fillna("")) == ["call", "soil test", "level", ""]


def test_near_pass_needs_every_ruling_limit_to_have_failed_narrowly():
    ids = pd.Series(["a", "b"])
    found = verdicts(
        ids,
        reasons(
            ("a", "slope", "rules out", True),
            ("a", "soil_group", "test soil", False),
            ("b", "slope", "rules out", True),
            ("b", "no_room", "rules out", False),
        ),
    )
    assert list(found["near_pass"]) == [True, False]


def test_undeclared_code_and_stranger_lot_are_errors():
    with pytest.raises(ValueError, match="not declared in fields: moon"):
        verdicts(pd.Series(["a"]), reasons(("a", "moon", "rules out", False)))
    with pytest.raises(ValueError, match="not in the table: z"):
        verdicts(pd.Series(["a"]), reasons(("z", "fall", "rules out", False)))
