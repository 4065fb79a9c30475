"""Legend and layers: what each colour means stands beside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from screening.outputs.map.relief import slope_breaks
from screening.result import Screening
from tests.outputs.browser import Watched

pytestmark = pytest.mark.browser

Opener = Callable[..., Watched]


def test_each_class_of_slope_stands_beside_its_colour(
    new_page: Opener, written: dict[str, Path], made_up: Screening
) -> None:
    page = new_page().open(written["map"]).page
    page.locator("#tab-layers").click()
    gentle, look, limit, steep = (f"{edge:g}%" for edge in slope_breaks(made_up.rules))
    assert page.locator(".class-key li").all_text_contents() == [
        f"{gentle} to {look}: a garden may stand there",
        f"{look} to {limit}: looked at closer",
        f"{limit} to {steep}: too steep for a garden",
        f"{steep} and over: gardens keep their distance from it",
    ]
    colours = page.locator(".class-key .swatch").evaluate_all(
        "all => all.map(one => getComputedStyle(one).backgroundColor)"
    )
    assert colours == ["rgb(252, 222, 156)", "rgb(240, 167, 94)", "rgb(205, 92, 72)", "rgb(122, 33, 63)"]


def test_outlines_alone_need_no_legend(new_page: Opener, written: dict[str, Path]) -> None:
    page = new_page().open(written["map"]).page
    assert page.locator("#map-legend").is_visible()
    page.locator("#colour-by").select_option("none")
    assert page.locator("#map-legend").is_hidden()
    page.locator("#colour-by").select_option("soil")
    assert "Group A" in page.locator("#map-legend").inner_text()


def test_a_lot_that_is_open_is_printed_with_its_map(
    new_page: Opener, written: dict[str, Path], made_up: Screening
) -> None:
    page = new_page().open(written["map"]).page
    page.locator("#search").fill("L00007")
    page.locator("#lot-rows button").first.click()
    page.locator(".leaflet-control-zoom-out").click()
    page.emulate_media(media="print")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    west, south, east, north = made_up.tables["lots"].to_crs(4326).geometry.iloc[7].bounds
    shown = page.evaluate(
        "(() => { const b = map_lots.getBounds(); return [b.getWest(), b.getSouth(), b.getEast(), b.getNorth()]; })()"
    )
    assert shown[0] < west < east < shown[2]
    assert shown[1] < south < north < shown[3]
    assert shown[3] - shown[1] < 3 * (north - south)
    assert page.locator("#lot").is_visible()
