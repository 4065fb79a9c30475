"""Weights tried out on the map, and what a person notes there in the season."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from screening.inputs.field_file import read_field_files
from screening.outputs.suitability import suitability_breaks
from screening.ranking.criteria import CRITERIA
from screening.ranking.score import score_lots
from screening.result import Screening
from screening.rules import Rules
from tests.outputs.browser import Watched

pytestmark = pytest.mark.browser


@pytest.fixture
def opened(new_page: Callable[..., Watched], written: dict[str, Path]) -> Watched:
    return new_page().open(written["map"])


TRY_WEIGHTS = """
settings => settings.map(setting => {
  for (const [rule, weight] of Object.entries(setting)) {
    const box = document.getElementById(`weight-${rule}`);
    box.value = weight;
    box.dispatchEvent(new Event("change"));
  }
  return [...document.getElementById("lot-rows").rows].map(row => [
    row.cells[0].firstChild.textContent, row.querySelector(".lot-name").textContent, row.cells[2].textContent,
    row.cells[0].querySelector("small")?.textContent ?? "",
  ]).concat([[...document.querySelectorAll("#map-legend li")].slice(0, 4).map(item => item.textContent)]);
})
"""


def test_weights_tried_out_rank_as_the_run_would(opened: Watched, made_up: Screening) -> None:
    page, rng = opened.page, np.random.default_rng(7)
    names = [weight for _, weight, _ in CRITERIA]
    settings = [
        {name: int(weight) for name, weight in zip(names, row, strict=True)} for row in rng.integers(0, 101, (50, 6))
    ]
    got = page.evaluate(TRY_WEIGHTS, settings)
    for wanted, rows in zip(settings, got, strict=True):
        lots = score_lots(made_up.tables["lots"], made_up.rules.model_copy(update=wanted))
        ranked = lots[lots["rank"].notna()].sort_values("rank")
        told = [
            [
                str(r.rank),
                r.address,
                str((r.score + 50) // 100),
                f"≈ {r.rank_group.replace('-', '–')}" * ("-" in r.rank_group),
            ]
            for r in ranked.itertuples()
        ]
        assert rows[: len(ranked)] == told
        edges = [edge // 100 for edge in suitability_breaks(lots["score"])]
        assert rows[-1] == [
            f"Highest: {edges[3]} and over",
            *(f"{low} to under {high}" for high, low in pairwise(edges[::-1])),
        ]
    page.locator("#tab-weights").click()
    with page.expect_download() as saved:
        page.locator("#weights-save").click()
    rules = tomllib.loads(Path(saved.value.path()).read_text(encoding="utf-8"))
    assert rules == wanted
    assert Rules(**rules).weight_soil == wanted["weight_soil"]
    page.locator("#weights-back").click()
    page.locator("#tab-lots").click()
    assert page.locator("#tried").is_hidden()
    assert page.locator("#lot-rows .lot-name").first.text_content() == made_up.first(1)["address"].iloc[0]


def test_ticks_and_notes_stay_and_come_back_as_field_results(
    opened: Watched, made_up: Screening, written: dict[str, Path], tmp_path: Path
) -> None:
    page = opened.page
    page.locator("#lot-rows button").first.click()
    page.locator("#tick").check()
    page.locator("#note-what").select_option("status")
    page.locator("#note-status").select_option("applied")
    page.locator("#note-date").fill("2026-05-04")
    page.locator("#note-text").fill('=1+1, "quoted"')
    page.locator("#note-add").click()
    assert "2026-05-04: applied" in page.locator(".noted").text_content()
    page.reload()
    page.locator("body.ready").wait_for()
    first = made_up.first(1).iloc[0]
    page.locator("#tab-season").click()
    assert "To be visited: 1" in page.locator("#season-list").text_content()
    saved = {}
    for name in ("visits", "field", "geojson"):
        with page.expect_download() as download:
            page.locator(f"#save-{name}").click()
        saved[name] = tmp_path / download.value.suggested_filename
        download.value.save_as(saved[name])
    assert (
        saved["visits"].read_text(encoding="utf-8").splitlines()[1].startswith(f"{first['lot_id']},{first['address']}")
    )
    for name in ("field", "geojson"):
        rows = read_field_files([saved[name]], made_up.tables["lots"]["lot_id"], unit_m=1.0, crs=made_up.crs)
        assert rows[["lot_id", "what", "status"]].to_numpy().tolist() == [[first["lot_id"], "status", "applied"]]
        assert "1+1" in rows["note"].iloc[0]
    page.locator("#tab-lots").click()
    page.locator("#filters summary").click()
    page.locator("#filter-ticked").select_option("yes")
    assert page.locator("#count").text_content() == "1 of 30 lots"
    assert opened.complaints == []


def test_next_follows_the_order_tried_out_while_the_list_is_hidden(opened: Watched, made_up: Screening) -> None:
    page = opened.page
    page.locator("#lot-rows button").first.click()
    page.locator("#tab-weights").click()
    wanted = {name: 100 if name == "weight_room" else 0 for _, name, _ in CRITERIA}
    page.evaluate(TRY_WEIGHTS, [wanted])
    lots = score_lots(made_up.tables["lots"], made_up.rules.model_copy(update=wanted))
    told = lots[lots["rank"].notna()].sort_values("rank")["address"].tolist()
    before = made_up.first(2)["address"].tolist()
    after = told[told.index(before[0]) + 1]
    assert after != before[1]
    page.evaluate(
        "[...document.querySelectorAll('#lot .panel-buttons button')].find(b => b.textContent == 'Next').click()"
    )
    assert page.locator("#lot-name").text_content() == after
