"""Text from files is text in the page, whatever it says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from screening.area import Note
from screening.fields import TABLES
from screening.outputs.map import write_map
from screening.result import Screening
from tests.outputs.browser import Watched
from tests.outputs.made_up import make_screening

HOSTILE = (
    "{{7*7}}", "{% raw %}", "<img src=x onerror=alert(1)>", "</script><script>alert(1)</script>", "`${alert(1)}`",
    "\u2028\u2029", "$& $1 \\",
    "\"'><svg onload=alert(1)>", "=1+1", "<!--", "]]>", "javascript:alert(1)",
)  # fmt: skip

KEPT = {
    "lots": {"lot_id", "verdict", "next_step", "deciding_limit", "reasons", "rank_group", "spot_side", "lead"},
    "reasons": {"lot_id", "code", "severity", "unit"},
}
"""Columns that hold the tool's own words or join the tables."""


def _hostile() -> Screening:
    result = make_screening(2, 3)
    tables = {}
    for name, table in result.tables.items():
        out = table.copy()
        for number, field in enumerate(TABLES[name]):
            if field.dtype != "text" or field.name == "lot_id" or field.name in KEPT.get(name, ()):
                continue
            out[field.name] = [f"{HOSTILE[(row + number) % len(HOSTILE)]}#{row}" for row in range(len(out))]
        tables[name] = out
    layers = {name: layer.copy() for name, layer in result.layers.items()}
    layers["inlets"]["inlet_id"] = HOSTILE[2]
    notes = tuple(Note("caution", text, text) for text in HOSTILE)
    return replace(result, title="".join(HOSTILE), tables=tables, layers=layers, notes=notes)


@pytest.mark.browser
def test_hostile_text_is_shown_as_text_and_nothing_runs(new_page: Callable[..., Watched], tmp_path: Path) -> None:
    result = _hostile()
    watched = new_page().open(write_map(result, tmp_path / "map.html"))
    page = watched.page
    lots = result.tables["lots"]
    assert page.locator("#title").text_content() == result.title
    names = set(page.locator("#lot-rows .lot-name").all_text_contents())
    assert names == set(lots["address"])
    for number in range(page.locator("#lot-rows button").count()):
        page.locator("#lot-rows button").nth(number).click()
        page.locator("#lot-name").wait_for()
        page.keyboard.press("Escape")
    page.locator("#tab-streets").click()
    assert set(page.locator("#street-table tbody th").all_text_contents()) == set(result.tables["streets"]["street"])
    page.locator("#tab-about").click()
    shown = page.locator("#panel-about").text_content()
    assert all(text in shown for text in HOSTILE)
    assert page.locator("#main img:not(.leaflet-image-layer), svg[onload]").count() == 0
    assert watched.complaints == []
    assert watched.outside() == []


@pytest.mark.browser
def test_details_of_reasons_are_put_in_as_they_are(new_page: Callable[..., Watched], tmp_path: Path) -> None:
    result = make_screening(1, 4)
    reasons = result.tables["reasons"].copy()
    reasons["detail"] = [f"{HOSTILE[row % len(HOSTILE)]} {{measured}}" for row in range(len(reasons))]
    page = (
        new_page()
        .open(write_map(replace(result, tables={**result.tables, "reasons": reasons}), tmp_path / "map.html"))
        .page
    )
    page.locator("#search").fill("L00004")
    page.locator("#lot-rows button").first.click()
    row = reasons[(reasons["lot_id"] == "L00004") & (reasons["code"] == "no_room")].iloc[0]
    assert row["detail"].strip() in page.locator(".reason .sentence").first.text_content()
