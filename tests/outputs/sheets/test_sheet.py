"""What is written where on a sheet."""

from __future__ import annotations

from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any

import pandas as pd
import pytest

from screening.outputs.sheets import sheet, words
from screening.outputs.sheets.page import SheetPage

LONG = "The widest open ground is 2.8 m across, a garden with its berms needs 2.4 m; " * 2


@pytest.fixture
def said(monkeypatch: pytest.MonkeyPatch) -> list[tuple[float, str]]:
    """Texts written on a sheet, each with the place below it."""
    texts: list[tuple[float, str]] = []
    write = SheetPage.text

    def text(page: SheetPage, x: float, y: float, width: float, words: str, *args: Any, **more: Any) -> float:
        below = write(page, x, y, width, words, *args, **more)
        texts.append((below, words))
        return below

    monkeypatch.setattr(SheetPage, "text", text)
    return texts


def _reasons(count: int, detail: str) -> list[Any]:
    row = {"severity": "note", "code": "no_room", "measured": 2.0, "limit": 3.0, "unit": pd.NA, "detail": detail}
    return [SimpleNamespace(**row) for _ in range(count)]


@pytest.fixture
def page() -> Iterator[SheetPage]:
    """An empty page of a document that is finished after the test, which lets go of its fonts."""
    page = SheetPage("metric", "Made up")
    page.new()
    yield page
    page.pdf.output()


def test_reasons_that_fit_are_all_told(page: SheetPage, said: list[tuple[float, str]]) -> None:
    page_height = 2 * page.high(90, "Note: No room: the largest garden that fits has 2 m² of", 7)
    sheet._reasons(page, 20, 50, 90, 50 + 5.2 + 5 * page_height, _reasons(2, ""))
    assert len(said) == 2
    assert not any("more on the map" in text for _, text in said)


def test_reasons_that_do_not_fit_are_counted_and_nothing_runs_over(
    page: SheetPage, said: list[tuple[float, str]]
) -> None:
    lowest = 90.0
    sheet._reasons(page, 20, 50, 90, lowest, _reasons(9, LONG))
    told = [text for _, text in said if "No room" in text]
    assert 1 <= len(told) < 9
    assert said[-1][1] == f"… and {9 - len(told)} more on the map."
    assert all(below <= lowest for below, _ in said)


def test_the_plans_key_reads_without_colour() -> None:
    assert not {"Blue", "blue", "Orange", "orange"} & set(words.PLAN_KEY.split())
