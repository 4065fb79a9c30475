"""The map in a real browser: offline, silent, and doing what a person asks of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from screening.ranking.sentences import lot_reasons
from screening.result import Screening
from tests.outputs.browser import WIDTHS, Watched

pytestmark = pytest.mark.browser

Opener = Callable[..., Watched]


@pytest.fixture
def opened(new_page: Opener, written: dict[str, Path]) -> Watched:
    return new_page().open(written["map"])


def _texts(page: Any, selector: str) -> list[str]:
    return [text.strip() for text in page.locator(selector).all_text_contents()]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_offline_it_asks_for_one_file_and_says_nothing(
    width: str, scheme: str, new_page: Opener, written: dict[str, Path]
) -> None:
    watched = new_page(width, scheme).open(written["map"])
    watched.page.locator("#lot-rows button").first.click()
    watched.page.locator("#lot-name").wait_for()
    watched.page.locator(".leaflet-control-zoom-out").click()
    assert watched.requests[0] == written["map"].as_uri()
    assert watched.outside() == []
    assert watched.complaints == []


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_stands_in_the_way_of_anyone(
    width: str, scheme: str, new_page: Opener, written: dict[str, Path]
) -> None:
    page = new_page(width, scheme).open(written["map"]).page
    problems = set()

    def look(where: str | None = None) -> None:
        for violation in Axe().run(page, context=where).response["violations"]:
            problems.update(f"{violation['id']}: {node['html'][:150]}" for node in violation["nodes"])

    look()
    if width == "desktop":
        for tab in ("streets", "layers", "weights", "season", "about"):
            page.locator(f"#tab-{tab}").click()
            look("#side")
        page.locator("#tab-lots").click()
    page.locator("#lot-rows button").first.click()
    page.locator("#lot-name").wait_for()
    look("#lot")
    assert not problems, "\n".join(sorted(problems))
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]


def test_the_list_stands_in_rank_order_and_ends_with_the_ruled_out(opened: Watched, made_up: Screening) -> None:
    lots = made_up.tables["lots"]
    ranked = lots[lots["rank"].notna()].sort_values("rank")
    names = _texts(opened.page, "#lot-rows .lot-name")
    assert names[: len(ranked)] == ranked["address"].tolist()
    assert len(names) == len(lots)
    assert set(_texts(opened.page, "#lot-rows .lot-line")[len(ranked) :]) == {"Ruled out"}


def test_search_finds_by_lot_street_and_address_whatever_the_case(opened: Watched) -> None:
    page = opened.page
    for words, count in (("l00007", 1), ("BIRCH made", 10), ("26 cedar", 1), ("nowhere", 0)):
        page.locator("#search").fill(words)
        assert page.locator("#count").text_content() == f"{count} of 30 lots"
    page.locator("#clear").click()
    assert page.locator("#count").text_content() == "30 lots"


def test_filters_and_sorting(opened: Watched, made_up: Screening) -> None:
    page, lots = opened.page, made_up.tables["lots"]
    page.locator("#filters summary").click()
    page.locator("#filter-verdict").select_option("ruled out")
    out = lots[lots["verdict"] == "ruled out"]
    assert page.locator("#count").text_content() == f"{len(out)} of 30 lots"
    page.locator("#filter-limit").select_option("slope")
    assert page.locator("#count").text_content() == f"{(out['deciding_limit'] == 'slope').sum()} of 30 lots"
    page.locator("#clear").click()
    page.get_by_role("button", name="Kept").click()
    kept = lots.sort_values(["storm_kept_m3", "lot_id"], ascending=[False, True], kind="stable")
    assert _texts(page, "#lot-rows .lot-name")[:5] == kept["address"].head(5).tolist()
    assert page.locator("#lot-heads [aria-sort=descending]").text_content().startswith("Kept")


def test_a_lot_from_the_list_comes_into_view_and_explains_itself(opened: Watched, made_up: Screening) -> None:
    page = opened.page
    page.locator("#lot-rows button").first.click()
    first = made_up.first(1).iloc[0]
    assert page.locator("#lot-name").text_content() == first["address"]
    assert page.evaluate("map_lots.getZoom()") >= 18
    written = " ".join(_texts(page, ".reason .sentence"))
    assert written == first["reasons"]
    shown = page.locator("#lot").text_content()
    assert f"Rank 1 of {int(made_up.tables['lots']['rank'].notna().sum())}" in shown
    for text in (f"{first['ponding_area_m2']} m²", f"{first['slope_spot_pct']}%", "to the lip; 0.14 m needed"):
        assert text in shown
    page.locator(".panel-buttons button", has_text="Next").click()
    assert page.locator("#lot-name").text_content() == made_up.first(2).iloc[1]["address"]
    page.keyboard.press("Escape")
    assert page.locator("#lot").is_hidden()
    assert page.evaluate("document.activeElement.dataset.lot") is not None


@pytest.mark.parametrize("units", ["metric", "us"])
def test_reasons_read_as_in_the_tables_in_both_units(opened: Watched, made_up: Screening, units: str) -> None:
    page, lots = opened.page, made_up.tables["lots"]
    page.locator("#units-choice button", has_text="US" if units == "us" else "Metric").click()
    wanted = lot_reasons(lots["lot_id"], made_up.tables["reasons"], units)  # type: ignore[arg-type]
    for number in range(8):
        page.locator("#search").fill(lots["lot_id"].iloc[number])
        page.locator("#lot-rows button").first.click()
        assert " ".join(_texts(page, ".reason .sentence")) == wanted.iloc[number]
        page.locator("#close-lot").click()


def test_a_ruled_out_lot_is_told_kindly_and_what_else_could_help(opened: Watched) -> None:
    page = opened.page
    page.locator("#search").fill("L00006")
    page.locator("#lot-rows button").first.click()
    text = page.locator("#lot").text_content()
    assert "No garden place found from maps." in text
    assert "a rain barrel at a downspout" in text
    assert "It failed narrowly" in text
    assert page.locator(".reason.rules-out").count() == 1


def test_the_scores_shares_add_up_to_the_score(opened: Watched, made_up: Screening) -> None:
    opened.page.locator("#lot-rows button").first.click()
    cells = _texts(opened.page, "table.score tbody td:last-child")
    assert sum(float(cell) for cell in cells) == pytest.approx(made_up.first(1)["score"].iloc[0] / 100, abs=0.5)


def test_a_click_on_the_map_picks_the_lot_under_it(opened: Watched, made_up: Screening) -> None:
    page = opened.page
    lots = made_up.tables["lots"].to_crs(4326)
    middle = lots.geometry.iloc[12].centroid
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")  # laid out by now
    point = page.evaluate(f"map_lots.latLngToContainerPoint([{middle.y}, {middle.x}])")
    box = page.locator("#map_lots").bounding_box()
    page.mouse.move(box["x"] + point["x"], box["y"] + point["y"])
    assert lots["address"].iloc[12] in page.locator("#map-hint").text_content()
    page.mouse.click(box["x"] + point["x"], box["y"] + point["y"])
    assert page.locator("#lot-name").text_content() == lots["address"].iloc[12]


def test_keys_alone_move_through_the_list_the_tabs_and_the_map(opened: Watched) -> None:
    page = opened.page
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.locator("#lot-rows button").first.focus()
    page.keyboard.press("ArrowDown")
    second = page.evaluate("document.activeElement.textContent")
    page.keyboard.press("Enter")
    assert page.locator("#lot-name").text_content() == second
    page.keyboard.press("Escape")
    page.locator("#tab-lots").focus()
    page.keyboard.press("ArrowRight")
    assert page.locator("#panel-streets").is_visible()
    page.locator("#map_lots").focus()
    page.keyboard.press("Enter")
    assert page.locator("#lot").is_visible() or page.locator("#said").text_content() == "No lot under the cross"


def test_streets_tell_their_totals_and_lead_to_their_lots(opened: Watched, made_up: Screening) -> None:
    page, streets = opened.page, made_up.tables["streets"]
    page.locator("#tab-streets").click()
    best = streets.sort_values("storm_kept_m3", ascending=False).iloc[0]
    row = page.locator("#street-table tbody tr").first
    assert best["street"] in row.text_content()
    assert row.locator("td").nth(2).text_content() == f"{best['storm_kept_m3']:.1f}"
    assert _texts(page, "#street-table thead th")[3].startswith("Could keep m³")
    row.locator("button").click()
    assert (
        page.locator("#curve")
        .text_content()
        .endswith(
            f"{best['street']}: {best['feasible']} gardens could keep {best['storm_kept_m3']:.1f} m³; the best "
            f"{_half(made_up, best['street'])} keep half of it."
        )
    )
    page.locator("#tab-lots").click()
    assert page.locator("#count").text_content() == f"{best['lots']} of 30 lots"


def _half(result: Screening, street: str) -> int:
    lots = result.tables["lots"]
    kept = lots[(lots["street"] == street) & lots["rank"].notna()]["storm_kept_m3"].astype(float)
    total = kept.sort_values(ascending=False).cumsum()
    return int((total < total.iloc[-1] / 2).sum()) + 1


def test_layers_switch_and_colours_change_with_their_legend(opened: Watched) -> None:
    page = opened.page
    before = page.locator("#map_lots").screenshot()
    page.locator("#colour-by").select_option("limit")
    assert any("Slope: " in text for text in _texts(page, "#map-legend li"))
    by_limit = page.locator("#map_lots").screenshot()
    assert by_limit != before
    page.locator("#tab-layers").click()
    page.locator("#layer-slope").check()
    page.locator("img.leaflet-image-layer").nth(1).wait_for()
    page.locator("#layer-roof_pieces").uncheck()
    assert page.locator("#map_lots").screenshot() != by_limit


def test_cautions_stand_on_the_page_and_in_print(opened: Watched) -> None:
    page = opened.page
    assert "Have buried utilities located before any digging." in page.locator("#caution").text_content()
    page.locator("#caution-more").click()
    assert page.evaluate("document.activeElement.id") == "cautions"
    page.emulate_media(media="print")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    printed = page.locator("#print-list").inner_text()
    assert "not survey truth" in printed
    assert page.locator("#print-list tbody tr").count() == 30
    assert page.locator("#side").is_hidden()


def test_a_lot_named_in_the_address_is_shown_at_once(
    new_page: Opener, written: dict[str, Path], made_up: Screening
) -> None:
    page = new_page().open(written["map"], "#lot=L00009").page
    assert page.locator("#lot-name").text_content() == made_up.tables["lots"]["address"].iloc[9]


def test_what_would_change_the_verdict_is_told(opened: Watched) -> None:
    page = opened.page
    page.locator("#search").fill("L00001")
    page.locator("#lot-rows button").first.click()
    assert "A soil test at the spot." in page.locator("#lot").text_content()


def test_the_address_names_the_lot_and_back_leads_to_what_was_before(opened: Watched) -> None:
    page = opened.page
    buttons = page.locator("#lot-rows button")
    first, second = _texts(page, "#lot-rows .lot-name")[:2]
    buttons.nth(0).click()
    assert page.locator("#lot-name").text_content() == first
    address = page.url
    assert "#lot=" in address
    buttons.nth(1).click()
    assert page.url != address
    page.go_back()
    page.wait_for_function("name => document.getElementById('lot-name').textContent === name", arg=first)
    assert page.url == address
    page.reload()
    page.locator("body.ready").wait_for()
    assert page.locator("#lot-name").text_content() == first
    page.go_back()
    page.locator("#lot").wait_for(state="hidden")
    page.go_forward()
    page.wait_for_function("name => document.getElementById('lot-name').textContent === name", arg=first)
    page.keyboard.press("Escape")
    page.locator("#lot").wait_for(state="hidden")
    assert "lot=" not in page.url
    assert second != first
    assert opened.complaints == []
