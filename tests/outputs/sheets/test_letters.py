from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from screening.outputs.sheets.letters import covered, cut, wants_shaping, width_mm, wrap


def test_which_letters_the_font_writes() -> None:
    assert covered("12 Élan Straße ≥ ² Ω Ж")
    assert not covered("東京")
    assert not covered("🌧")


def test_scripts_that_join_or_stack_want_shaping() -> None:
    assert wants_shaping("شارع")
    assert wants_shaping("רחוב")
    assert wants_shaping("e\u0301")
    assert not wants_shaping("Élan 12")


@settings(max_examples=80, deadline=None)
@given(st.text(st.characters(codec="ascii", exclude_categories=["Cc"]), max_size=120), st.floats(8, 80))
def test_no_line_is_wider_than_its_room_and_no_word_is_lost(text: str, width: float) -> None:
    lines = wrap(text, width, 8)
    assert all(width_mm(line, 8) <= width for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_a_line_that_does_not_fit_ends_in_an_ellipsis() -> None:
    assert cut("short", 40, 8) == "short"
    shown = cut("a rather long name of a street", 20, 8)
    assert shown.endswith("…")
    assert width_mm(shown, 8) <= 20


def test_bold_letters_are_wider() -> None:
    assert width_mm("Rain", 10, bold=True) > width_mm("Rain", 10)
