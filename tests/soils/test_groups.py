import numpy as np
import pytest

from screening.rules import Rules
from screening.soils.groups import (
    LABELS,
    chances_of_label,
    clean_labels,
    counted_group,
    group_number,
    mapped_chances,
)


def test_labels_as_files_spell_them():
    found = clean_labels([" b ", "c/d", "A / D", "", None, np.nan, "E", "D/A", "unknown"])
    assert found == ["B", "C/D", "A/D", "unknown", "unknown", "unknown", "unknown", "unknown", "unknown"]


def test_dual_groups_count_as_d_unless_drained():
    assert [counted_group(label, drained=False) for label in ("A/D", "B/D", "C/D", "B")] == ["D", "D", "D", "B"]
    assert [counted_group(label, drained=True) for label in ("A/D", "B/D", "C/D", "B")] == ["A", "B", "C", "B"]
    assert group_number(["A", "D", "B/D", "unknown"], drained=False).tolist() == [0, 3, 3, -1]
    assert group_number(["B/D"], drained=True).tolist() == [1]


def test_a_mapped_group_is_right_four_times_of_five():
    rules = Rules()
    assert chances_of_label("A", rules) == pytest.approx([0.8, 0.2, 0, 0, 0])
    assert chances_of_label("B", rules) == pytest.approx([0.1, 0.8, 0.1, 0, 0])
    assert chances_of_label("D", rules) == pytest.approx([0, 0, 0.2, 0.8, 0])
    assert chances_of_label("B/D", rules) == pytest.approx([0, 0.2, 0, 0.8, 0])
    assert chances_of_label("B/D", Rules(dual_group_drained=True)) == pytest.approx([0, 0.8, 0, 0.2, 0])
    assert chances_of_label("unknown", rules) == pytest.approx([0, 0, 0, 0, 1])


def test_chances_sum_to_one():
    assert mapped_chances(LABELS, Rules()).sum(axis=1) == pytest.approx(np.ones(len(LABELS)))
