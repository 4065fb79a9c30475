from __future__ import annotations

import csv
import io
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from screening.inputs.cells import known_id, plain_cell, safe_cell
from screening.inputs.field_file import read_field_files
from screening.outputs.csv_files import csv_text

_LIKELY = st.text(alphabet="'=+-@ \t\r\nL07", max_size=8)


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "  =1", "=HYPERLINK(0)", "'=1", "''-1"]
)
def test_text_that_a_spreadsheet_would_run_gets_an_apostrophe(text: str) -> None:
    assert safe_cell(text) == "'" + text


@pytest.mark.parametrize("text", ["1 Elm Way", "a=b", "", "12-3", "L-1", "'s Lane", "'"])
def test_other_text_stays(text: str) -> None:
    assert safe_cell(text) == text


@given(st.text(max_size=20) | _LIKELY)
@example("'=1")
@example("'")
def test_what_is_written_is_read_back_and_never_runs(text: str) -> None:
    cell = safe_cell(text)
    assert plain_cell(cell) == text
    assert not cell.lstrip().startswith(("=", "+", "-", "@"))
    assert not cell.startswith(("\t", "\r", "\n"))


@given(st.lists(_LIKELY, unique=True, max_size=6), _LIKELY)
def test_two_texts_never_make_one_cell(texts: list[str], other: str) -> None:
    assert len({safe_cell(text) for text in texts}) == len(texts)
    assert known_id(safe_cell(other), {other}) == other
    assert known_id(other, {other, "'" + other}) == other


@given(st.lists(st.text(alphabet="'=+-@ L07,;\"", min_size=1).filter(str.strip), unique=True, min_size=1, max_size=6))
def test_a_field_file_made_from_a_written_list_finds_its_lots(
    tmp_path_factory: pytest.TempPathFactory, ids: list[str]
) -> None:
    table = pd.DataFrame({"what": "approach", "lot": pd.array(ids, dtype="str"), "date": "2026-05-31"})
    path: Path = tmp_path_factory.mktemp("field") / "field.csv"
    path.write_text(csv_text(table), encoding="utf-8")
    assert read_field_files([path], ids)["lot_id"].tolist() == ids


def test_an_id_as_the_lots_have_it_is_found_too(tmp_path: Path) -> None:
    stream = io.StringIO()
    csv.writer(stream).writerows(
        [["what", "lot", "date"], ["approach", "-7", "2026-05-31"], ["approach", "'-7", "2026-05-31"]]
    )
    (tmp_path / "field.csv").write_text(stream.getvalue(), encoding="utf-8")
    assert read_field_files([tmp_path / "field.csv"], ["-7"])["lot_id"].tolist() == ["-7", "-7"]
