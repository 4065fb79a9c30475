from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from screening.outputs import workbook
from screening.outputs.csv_files import approach_list, ruled_out_list
from screening.outputs.workbook import MOST_VISITS, write_workbook
from screening.result import Screening


def _column(sheet, head: str) -> list[object]:
    heads = [cell.value for cell in sheet[1]]
    return [row[heads.index(head)].value for row in sheet.iter_rows(min_row=2)]


def test_sheets_hold_the_lists_under_frozen_heads_with_units(made_up: Screening, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(write_workbook(made_up, tmp_path / "a.xlsx"))
    assert book.sheetnames == ["Approach", "Ruled out", "Streets", "Columns"]
    rows = approach_list(made_up)
    sheet = book["Approach"]
    assert sheet.freeze_panes == "A2"
    assert _column(sheet, "Lot id") == rows["lot_id"].tolist()
    assert _column(sheet, "Score [of 100]") == [score / 100 for score in rows["score"]]
    assert _column(sheet, "Storm kept [m³]") == rows["storm_kept_m3"].tolist()
    assert set(_column(sheet, "Year kept [m³]")) == {None}


def test_only_the_first_visits_and_a_line_that_says_so(
    made_up: Screening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = approach_list(made_up)
    assert 3 < len(rows) <= MOST_VISITS == 2_000
    monkeypatch.setattr(workbook, "MOST_VISITS", len(rows))
    whole = openpyxl.load_workbook(write_workbook(made_up, tmp_path / "a.xlsx"))["Approach"]
    monkeypatch.setattr(workbook, "MOST_VISITS", 3)
    book = openpyxl.load_workbook(write_workbook(made_up, tmp_path / "b.xlsx"))
    sheet = book["Approach"]
    assert sheet["A1"].value == f"The first 3 of {len(rows)} visits; approach.csv holds all."
    assert sheet["B1"].value is None
    cells, all_cells = ([[cell.value for cell in row] for row in each.iter_rows()] for each in (sheet, whole))
    assert cells[1:] == all_cells[:4]
    assert (sheet.freeze_panes, whole.freeze_panes) == ("A3", "A2")
    assert sheet.auto_filter.ref == whole.auto_filter.ref.replace("A1", "A2").replace(str(len(rows) + 1), "5")
    assert book["Ruled out"].freeze_panes == "A2"


def test_us_units(made_up: Screening, tmp_path: Path) -> None:
    sheet = openpyxl.load_workbook(write_workbook(made_up, tmp_path / "a.xlsx", "us"))["Approach"]
    rows = approach_list(made_up)
    assert _column(sheet, "Storm kept [gal]")[0] == pytest.approx(rows["storm_kept_m3"].iloc[0] / 0.003785411784)
    assert _column(sheet, "Run [ft]")[0] == pytest.approx(rows["run_m"].iloc[0] / 0.3048)


def test_text_is_never_a_formula_nor_a_link(made_up: Screening, tmp_path: Path) -> None:
    lots = made_up.tables["lots"].copy()
    lots["address"] = ['=HYPERLINK("x")', "https://example.org", "+1"] * 10
    book = openpyxl.load_workbook(
        write_workbook(replace(made_up, tables={**made_up.tables, "lots": lots}), tmp_path / "a.xlsx")
    )
    cells = [cell for row in book["Approach"].iter_rows(min_row=2) for cell in row if isinstance(cell.value, str)]
    assert {cell.data_type for cell in cells} == {"s"}
    assert not any(cell.hyperlink for cell in cells)
    assert '=HYPERLINK("x")' in {cell.value for cell in cells}


def test_equal_results_give_equal_bytes(made_up: Screening, tmp_path: Path) -> None:
    one = write_workbook(made_up, tmp_path / "a.xlsx").read_bytes()
    assert one == write_workbook(made_up, tmp_path / "b.xlsx").read_bytes()


def test_sentences_and_limits_read_in_the_readers_units(made_up: Screening, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(write_workbook(made_up, tmp_path / "a.xlsx", "us"))
    said = [*_column(book["Approach"], "Reasons"), *_column(book["Ruled out"], "Sentence")]
    assert any(" ft" in text for text in said if text)
    given = "crown of 5 m"  # told as it stands in the made-up detail
    assert not any(re.search(r"[0-9]\s(m|m²|mm)\b", text.replace(given, "")) for text in said if text)
    rows, sheet = ruled_out_list(made_up), book["Ruled out"]
    read = {"m": ("ft", 0.3048), "m2": ("sq ft", 0.09290304), "%": ("%", 1.0)}
    assert {"m2", "%"} <= set(rows["unit"])
    for at, unit in enumerate(rows["unit"]):
        assert _column(sheet, "Unit")[at] == read[unit][0]
        assert _column(sheet, "Measured")[at] == pytest.approx(rows["measured"].iloc[at] / read[unit][1], abs=0.0051)


def test_long_text_wraps_and_pages_print_whole_with_heads_and_the_caution(made_up: Screening, tmp_path: Path) -> None:
    for sheet in openpyxl.load_workbook(write_workbook(made_up, tmp_path / "a.xlsx")):
        heads = [cell.value for cell in sheet[1]]
        for long in {"Reasons", "Sentence", "Meaning"} & set(heads):
            assert sheet.cell(2, heads.index(long) + 1).alignment.wrap_text
        assert sheet.page_setup.orientation == "landscape"
        assert (sheet.page_setup.fitToWidth or 1, int(sheet.page_setup.fitToHeight)) == (1, 0)
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.print_title_rows == "$1:$1"
        assert "buried utilities located" in sheet.oddFooter.left.text
