"""Inlets and their catchments on the page: lots by inlet, sums by inlet, the ground that drains to each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from screening.outputs.map import write_map, write_maps
from screening.result import Screening
from screening.streets.inlets import NO_INLET
from tests.outputs.browser import Watched

pytestmark = pytest.mark.browser

Opener = Callable[..., Watched]


@pytest.fixture
def page(new_page: Opener, written: dict[str, Path]) -> Any:
    return new_page().open(written["map"]).page


def _pixel(page: Any, latitude: float, longitude: float) -> list[int]:
    """Red, green and blue that the map's canvas has at a place."""
    return page.evaluate(
        """([lat, lon]) => {
          const at = map_lots.latLngToContainerPoint([lat, lon]);
          const box = document.getElementById("map_lots").getBoundingClientRect();
          for (const tile of document.querySelectorAll("canvas.leaflet-tile")) {
            const own = tile.getBoundingClientRect();
            const [x, y] = [box.left + at.x - own.left, box.top + at.y - own.top];
            if (x < 0 || y < 0 || x >= own.width || y >= own.height) continue;
            const shrunk = tile.width / own.width;
            return [...tile.getContext("2d").getImageData(x * shrunk, y * shrunk, 1, 1).data].slice(0, 3);
          }
        }""",
        [latitude, longitude],
    )


def _settled(page: Any) -> None:
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def _corner(lot: Any) -> tuple[float, float]:
    """A place on a lot without roof, garden or pattern in the way."""
    west, south, east, north = lot.bounds
    return south + 0.5 * (north - south), west + 0.04 * (east - west)


def test_lots_of_one_inlet_have_one_colour_and_those_of_another_another(page: Any, made_up: Screening) -> None:
    lots = made_up.tables["lots"].to_crs(4326)
    plain = lots[lots["verdict"] == "approach"]
    page.locator("#colour-by").select_option("inlet")
    _settled(page)
    seen: dict[Any, list[list[int]]] = {}
    for inlet, shape in zip(plain["inlet"], plain.geometry, strict=True):
        seen.setdefault(inlet if isinstance(inlet, str) else None, []).append(_pixel(page, *_corner(shape)))
    assert set(seen) == {"I1", "I2", None}
    for colours in seen.values():
        assert max(abs(a - b) for one in colours for a, b in zip(one, colours[0], strict=True)) <= 2
    first, second, none = (seen[key][0] for key in ("I1", "I2", None))
    assert sum(abs(a - b) for a, b in zip(first, second, strict=True)) > 60
    assert sum(abs(a - b) for a, b in zip(first, none, strict=True)) > 60
    legend = page.locator("#map-legend").inner_text()
    assert "Neighbours in one colour share an inlet: 20" in legend
    assert "Water meets no inlet: 10" in legend


def test_sums_by_inlet_stand_beside_those_by_street_and_lead_to_the_lots(page: Any, made_up: Screening) -> None:
    sums = made_up.tables["inlet_totals"].set_index("inlet_id")
    page.locator("#tab-streets").click()
    rows = page.locator("#inlet-table tbody tr")
    order = sums["storm_kept_m3"].sort_values(ascending=False).index
    names = ["None met" if name == NO_INLET else name for name in order]
    assert rows.locator("th").all_text_contents() == names
    one = sums.loc["I1"]
    row = rows.filter(has=page.get_by_role("button", name="I1", exact=True))
    assert row.locator("td").all_text_contents() == [
        f"{one['feasible']} of {one['lots']}",
        f"{one['catchment_m2']:,.0f}",
        f"{one['storm_kept_m3']:.1f}",
        f"{100 * one['storm_kept_share']:.0f}%",
    ]
    row.locator("button").click()
    assert row.locator("button").get_attribute("aria-pressed") == "true"
    page.locator("#tab-lots").click()
    assert page.locator("#count").text_content() == f"{one['lots']} of 30 lots"
    page.locator("#filters summary").click()
    assert page.locator("#filter-inlet").input_value() == "I1"
    page.locator("#filter-inlet").select_option("(none)")
    assert page.locator("#count").text_content() == f"{sums.loc[NO_INLET, 'lots']} of 30 lots"


def test_figures_by_inlet_say_that_they_are_the_run_s_once_rules_are_tried_out(page: Any) -> None:
    page.locator("#tab-streets").click()
    assert "from the run" not in page.locator("#inlet-intro").text_content()
    page.locator("#tab-weights").click()
    page.locator("#panel-weights input[type=range]").first.focus()
    page.keyboard.press("ArrowLeft")
    page.locator("#tab-streets").click()
    assert "These figures are from the run" in page.locator("#inlet-intro").text_content()


def test_catchments_are_outlined_when_asked_for_and_told_under_the_pointer(page: Any, made_up: Screening) -> None:
    page.locator("#colour-by").select_option("none")
    _settled(page)
    before = page.locator("#map_lots").screenshot()
    page.locator("#tab-layers").click()
    page.locator("#layer-catchments").check()
    _settled(page)
    assert page.locator("#map_lots").screenshot() != before
    point = made_up.layers["inlets"].to_crs(4326).geometry.iloc[1]
    page.evaluate(f"map_lots.setView([{point.y}, {point.x}], 19, {{animate: false}})")
    box = page.locator("#map_lots").bounding_box()
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.move(*middle)
    one = made_up.tables["inlet_totals"].iloc[1]
    assert page.locator("#map-hint").text_content() == (
        f"Inlet I2: {one['catchment_m2']:,.0f} m² of ground and {one['lots']} lots drain to it; "
        f"gardens could keep {one['storm_kept_m3']:.1f} m³ out of it"
    )
    page.mouse.move(middle[0] + 40, middle[1] + 4)
    assert "Catchment of inlet I2" in page.locator("#map-hint").text_content()
    page.mouse.click(*middle)
    page.locator("#tab-lots").click()
    assert page.locator("#count").text_content() == f"{one['lots']} of 30 lots"


def test_keys_alone_pick_the_inlet_under_the_cross(page: Any, made_up: Screening) -> None:
    point = made_up.layers["inlets"].to_crs(4326).geometry.iloc[0]
    page.evaluate(f"map_lots.setView([{point.y}, {point.x}], 19, {{animate: false}})")
    page.locator("#map_lots").focus()
    page.keyboard.press("Enter")
    assert page.locator("#said").text_content().startswith("Inlet I1: ")
    assert page.locator("#count").text_content() == "8 of 30 lots"


def test_a_lot_s_panel_names_its_inlet(page: Any) -> None:
    page.locator("#search").fill("L00000")
    page.locator("#lot-rows button").first.click()
    assert "Drains to inlet" in page.locator("#lot").text_content()
    assert "I1the most of its roof water" in page.locator("#lot").text_content()


def test_nothing_stands_in_the_way_of_anyone_by_inlet(page: Any) -> None:
    page.locator("#colour-by").select_option("inlet")
    page.locator("#tab-streets").click()
    violations = Axe().run(page).response["violations"]
    assert [violation["id"] for violation in violations] == []


def test_without_inlets_nothing_speaks_of_them(new_page: Opener, made_up: Screening, tmp_path: Path) -> None:
    tables = dict(made_up.tables)
    for name in ("inlet_totals", "catchments"):
        tables[name] = tables[name].iloc[:0]
    tables["lots"] = tables["lots"].assign(inlet=None).astype({"inlet": "str"})
    layers = {name: layer for name, layer in made_up.layers.items() if name != "inlets"}
    page = new_page().open(write_map(replace(made_up, tables=tables, layers=layers), tmp_path / "map.html")).page
    assert page.locator("#colour-by option[value=inlet]").count() == 0
    assert page.locator("#filter-inlet").count() == 0
    assert page.locator("#inlet-table").count() == 0
    page.locator("#tab-layers").click()
    assert page.locator("#layer-catchments").count() == 0


def test_a_part_of_a_large_area_holds_the_inlets_of_its_lots(
    new_page: Opener, made_up: Screening, tmp_path: Path
) -> None:
    paths = write_maps(made_up, tmp_path / "map.html", most=12)
    watched = new_page().open(paths["map"])
    assert watched.page.locator("#colour-by option[value=inlet]").count() == 0
    page = watched.open(paths["map_page_1"]).page
    lots = set(page.locator("#lot-rows .lot-name").all_text_contents())
    wanted = made_up.tables["lots"].set_index("address").loc[list(lots), "inlet"].dropna().unique()
    page.locator("#tab-streets").click()
    assert set(page.locator("#inlet-table tbody th").all_text_contents()) == set(wanted)
    assert watched.complaints == []
