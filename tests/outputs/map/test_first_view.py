"""What a person sees on opening the map: nothing covered, nothing cut off, every figure with its unit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from screening.outputs.map import write_maps, write_public_map
from screening.ranking.criteria import CRITERIA
from screening.result import Screening
from tests.outputs.browser import Watched

pytestmark = pytest.mark.browser

Opener = Callable[..., Watched]

LOTS_ON_THE_SCREEN = """
([west, south, east, north]) => {
  const map = document.getElementById("map_lots").getBoundingClientRect();
  const at = (lat, lng) => map_lots.latLngToContainerPoint([lat, lng]);
  const [low, high] = [at(south, west), at(north, east)];
  return {left: map.left + low.x, bottom: map.top + low.y, right: map.left + high.x, top: map.top + high.y};
}
"""


@pytest.fixture
def large_totals(made_up: Screening) -> Screening:
    """Streets that keep as much as a large neighbourhood's."""
    lots, streets = made_up.tables["lots"].copy(), made_up.tables["streets"].copy()
    lots["storm_kept_m3"] = lots["storm_kept_m3"] * 37
    for name in ("storm_runoff_m3", "storm_captured_m3", "storm_kept_m3"):
        streets[name] = streets[name] * 37
    return replace(made_up, tables={**made_up.tables, "lots": lots, "streets": streets})


def _box(page: Any, selector: str) -> dict[str, float]:
    return dict(page.locator(selector).bounding_box())


def test_an_open_legend_covers_no_lot(new_page: Opener, written: dict[str, Path], made_up: Screening) -> None:
    page = new_page().open(written["map"]).page
    bounds = made_up.tables["lots"].to_crs(4326).total_bounds.tolist()
    legend = _box(page, "#map-legend")
    assert page.locator("#map-legend details").get_attribute("open") is not None
    lots = page.evaluate(LOTS_ON_THE_SCREEN, bounds)
    assert lots["left"] >= legend["x"] + legend["width"] or lots["bottom"] <= legend["y"]
    assert lots["top"] >= _box(page, "#map-tools")["y"] + _box(page, "#map-tools")["height"]


@pytest.mark.parametrize("width", ["desktop", "phone"])
def test_large_street_totals_are_cut_off_nowhere(
    width: str, new_page: Opener, large_totals: Screening, tmp_path: Path
) -> None:
    page = new_page(width).open(write_maps(large_totals, tmp_path / "map.html", units="us")["map"]).page
    page.locator("#tab-streets").click()
    best = large_totals.tables["streets"]["storm_kept_m3"].max() / 0.003785411784
    assert f"{best:,.0f}" in page.locator("#street-table tbody tr").first.text_content()
    assert page.locator("#street-table thead").text_content().count("gal") == 1
    assert page.evaluate("(box => box.scrollWidth <= box.clientWidth)(document.querySelector('.scroll-x'))")
    left = _box(page, "#curve svg")["x"]
    labels = page.locator("#curve svg text")
    assert all(labels.nth(n).bounding_box()["x"] >= left for n in range(labels.count()))


def test_the_public_page_tells_units_in_its_heads(new_page: Opener, large_totals: Screening, tmp_path: Path) -> None:
    path = write_public_map(large_totals, tmp_path / "map_public.html", "us")
    page = new_page().open(path).page
    assert [text.endswith(" gal") for text in page.locator("thead th").all_text_contents()] == [False] * 3 + [True] * 2
    assert page.locator("tbody tr").first.text_content().count("gal") == 0
    assert page.evaluate("(box => box.scrollWidth <= box.clientWidth)(document.getElementById('side'))")


def test_counts_at_the_top_lead_to_their_lots(new_page: Opener, written: dict[str, Path], made_up: Screening) -> None:
    page = new_page().open(written["map"]).page
    out = int((made_up.tables["lots"]["verdict"] == "ruled out").sum())
    page.locator("#tab-season").click()
    page.locator("#search").evaluate("box => { box.value = 'nowhere'; box.dispatchEvent(new Event('input')); }")
    page.get_by_role("button", name=f"{out} ruled out").click()
    assert page.locator("#tab-lots").get_attribute("aria-selected") == "true"
    assert page.locator("#count").text_content() == f"{out} of 30 lots"
    assert page.locator("#filter-verdict").input_value() == "ruled out"


def test_the_panel_says_what_the_score_comes_from(
    new_page: Opener, written: dict[str, Path], made_up: Screening
) -> None:
    page = new_page().open(written["map"]).page
    page.locator("#lot-rows button").first.click()
    first = made_up.first(1).iloc[0]
    total = sum(getattr(made_up.rules, weight) for _, weight, _ in CRITERIA)
    points = sorted((first[column] * getattr(made_up.rules, weight) / total / 100 for column, weight, _ in CRITERIA))
    words = page.locator("#score-words").text_content()
    assert words.startswith("Most of its score comes from ")
    assert f"({points[-1]:.1f} of " in words
    assert f"({points[-2]:.1f} of " in words


def test_the_score_can_be_worked_out_from_its_table(new_page: Opener, written: dict[str, Path]) -> None:
    page = new_page().open(written["map"]).page
    page.locator("#lot-rows button").first.click()
    rows = page.locator("table.score tbody tr").all()
    products = [row.locator("td").nth(1).text_content().split(" × ") for row in rows]
    for row, (value, weight) in zip(rows, products, strict=True):
        told = float(row.locator("td").nth(2).text_content())
        total = sum(float(one) for _, one in products)
        assert told == pytest.approx(float(value) * float(weight) / total, abs=0.0501)
    foot = page.locator("table.score tfoot").text_content()
    assert f"sum ÷ {total:.0f}" in foot


def test_the_limits_legend_tells_a_near_pass_from_a_lot_not_ruled_out(
    new_page: Opener, written: dict[str, Path]
) -> None:
    page = new_page().open(written["map"]).page
    page.locator("#colour-by").select_option("limit")
    samples = {
        row.text_content().split(":")[0]: row.locator(".swatch").get_attribute("class")
        for row in page.locator("#map-legend li").all()
    }
    assert len({samples[name] for name in ("Fails clearly", "A near pass", "Not ruled out")}) == 3


@pytest.mark.parametrize("lines", [True, False])
def test_a_street_without_a_garden_place_keeps_nothing_and_says_so(
    lines: bool, new_page: Opener, made_up: Screening, tmp_path: Path
) -> None:
    streets = made_up.tables["streets"].copy()
    bare = streets.index[0]
    streets.loc[bare, ["storm_kept_m3", "storm_kept_share"]] = pd.NA
    streets.loc[bare, "feasible"] = 0
    if not lines:
        streets.geometry = [None] * len(streets)
    result = replace(made_up, tables={**made_up.tables, "streets": streets})
    name = streets.loc[bare, "street"]
    page = new_page().open(write_maps(result, tmp_path / "map.html")["map"]).page
    page.locator("#tab-streets").click()
    cells = page.locator("#street-table tbody tr", has_text=name).locator("td").all_text_contents()
    assert cells[2:] == ["0.0", "0%"]
    public = new_page().open(write_public_map(result, tmp_path / "map_public.html")).page
    assert public.locator("tbody tr", has_text=name).locator("td").last.text_content() == "0"
    assert ("wider its line" in public.locator("#street-intro").text_content()) is lines
