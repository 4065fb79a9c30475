from __future__ import annotations

from pathlib import Path

import pytest

from screening.inputs.field_columns import COLUMNS, CONSENTS
from screening.outputs.sheets import page, words, write_sheets
from screening.outputs.sheets.letters import cut
from screening.ranking.sentences import Units
from screening.result import Screening


def test_boxes_are_named_as_the_field_files_columns() -> None:
    columns = {column.name: column.events for column in COLUMNS}
    for event, lines in (("call", words.CALL), ("test", words.SOIL_TEST), ("level", words.LEVELS)):
        assert {columns[name] for name, _ in lines} == {event}
    assert tuple(name for name, _ in words.CONSENTS) == CONSENTS


@pytest.mark.parametrize("units", ["metric", "us"])
def test_no_fixed_label_is_cut(
    made_up: Screening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, units: Units
) -> None:
    shown: list[tuple[str, str]] = []

    def watched(text: str, width: float, size: float, bold: bool = False) -> str:
        shown.append((text, cut(text, width, size, bold)))
        return shown[-1][1]

    monkeypatch.setattr(page, "cut", watched)
    write_sheets(made_up, tmp_path / "a.pdf", [str(lot) for lot in made_up.tables["lots"]["lot_id"]], units)
    whole = [text for text, short in shown if text == short]
    assert {text for text, short in shown if text != short} == set()
    assert words.LEVELS_HEAD in whole
    assert any(text.startswith(words.LEVELS[0][1]) for text in whole)


def test_the_first_year_is_watered() -> None:
    """Common practice: 25 mm (1 in) a week in the first year, rain included."""
    assert [line for line in words.FOLLOW_UP if "water" in line] == [
        "First year: 25 mm (1 in) of water a week with the rain"
    ]
