"""Words of the map's page: true of every lead, rules told as they are meant, and controls that can be read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from screening.area import Note
from screening.outputs.map import write_map
from screening.result import Screening
from tests.outputs.browser import Watched

pytestmark = pytest.mark.browser

Opener = Callable[..., Watched]


@pytest.fixture(scope="module")
def mixed(made_up: Screening, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A map on which the first lot's garden has a swale and a pipe, and the id of that lot."""
    tables = dict(made_up.tables)
    lot = made_up.first(1).iloc[0]["lot_id"]
    leads, lots, candidates = (tables[name].copy() for name in ("leads", "lots", "candidates"))
    leads.loc[((leads["lot_id"] == lot) & (leads["candidate"] == 0)).idxmax(), "lead"] = "shallow"
    lots.loc[lots["lot_id"] == lot, "lead"] = "shallow"
    candidates.loc[(candidates["lot_id"] == lot) & (candidates["candidate"] == 0), "lead"] = "shallow"
    notes = (Note("assumption", "Brought from another system.", "roofs"), Note("missing", "No trees.", "trees"))
    result = replace(made_up, tables={**tables, "leads": leads, "lots": lots, "candidates": candidates}, notes=notes)
    return write_map(result, tmp_path_factory.mktemp("words") / "map.html"), str(lot)


def _fact(page: Any, term: str) -> str:
    return str(page.locator("#lot .fact", has=page.locator("dt", has_text=term)).first.locator("dd").inner_text())


def test_the_words_of_a_garden_are_true_of_all_its_leads(new_page: Opener, mixed: tuple[Path, str]) -> None:
    path, lot = mixed
    page = new_page().open(path, f"#lot={lot}").page
    shown = page.locator("#lot").inner_text().replace("\N{NO-BREAK SPACE}", " ")
    assert "led at most 9.2 m over the ground and in a shallow pipe." in shown
    assert _fact(page, "Leads").split("\n") == ["over the ground, shallow pipe", "2, the longest 9.2 m"]


def test_rules_are_told_without_noughts_in_both_units(new_page: Opener, mixed: tuple[Path, str]) -> None:
    page = new_page().open(mixed[0], "#lot=L00001").page
    assert "error of a soil map's line, 20 m (" in page.locator("#lot").inner_text()
    assert "limit 15%, over 5 m" in _fact(page, "Slope there")
    page.locator("#tab-weights").click()
    assert page.locator("#limit-slope_limit_pct-told").text_content() == "15%"
    page.locator("#tab-about").click()
    rows = dict(page.locator("#rules tbody tr").evaluate_all(
        "rows => rows.map(row => [row.querySelector('small').textContent, row.cells[1].textContent])"
    ))  # fmt: skip
    assert rows["soil_line_error_m"] == "20 m"
    assert rows["paving_setback_m"] == "0.6 m"
    assert rows["retaining_wall_setback_heights"] == "1.5 × height"
    page.locator("#units-choice button", has_text="US").click()
    assert page.locator("#rules tr", has_text="soil_line_error_m").locator("td").text_content() == "65.6 ft"
    assert _fact(page, "Fall").split("\n") == ["0.66 ft", "to the lip; 0.46 ft needed"]
    assert "error of a soil map's line, 65.6 ft (" in page.locator("#lot").inner_text()


def test_notes_name_the_layer_that_they_are_of(new_page: Opener, mixed: tuple[Path, str]) -> None:
    page = new_page().open(mixed[0]).page
    page.locator("#tab-about").click()
    told = page.locator("#panel-about li").all_text_contents()
    assert "Roofs: Brought from another system." in told
    assert "No trees." in told


def test_a_chosen_button_can_be_read_under_the_pointer(new_page: Opener, mixed: tuple[Path, str]) -> None:
    page = new_page().open(mixed[0]).page
    chosen = page.locator("#units-choice [aria-pressed=true]")
    ground = "button => getComputedStyle(button).backgroundColor"
    before = chosen.evaluate(ground)
    chosen.hover()
    assert chosen.evaluate(ground) == before


@pytest.mark.parametrize("width", ["desktop", "tablet", "phone"])
def test_the_list_and_the_tabs_stay_within_their_part(width: str, new_page: Opener, mixed: tuple[Path, str]) -> None:
    page = new_page(width).open(mixed[0]).page
    inside = "box => box.scrollWidth <= box.clientWidth"
    assert page.locator("#tabs").evaluate(inside)
    assert page.locator("#panel-lots").evaluate(inside)
    end = page.locator("#side").evaluate("side => side.getBoundingClientRect().right")
    ends = page.locator("#tabs button, #lot-heads button, #lot-rows .col-kept").evaluate_all(
        "all => all.map(one => one.getBoundingClientRect().right)"
    )
    assert max(ends) <= end
    page.locator("#tab-streets").click()
    for table in page.locator("#panel-streets .scroll-x").all():
        assert table.evaluate(inside)


def test_a_streets_curve_ends_at_its_own_total(new_page: Opener, made_up: Screening, tmp_path: Path) -> None:
    """Seven gardens of 1.01 m3 and one of 0.08: added one by one in binary they fall short of 7.15, and read 7.1."""
    lots, streets = made_up.tables["lots"].copy(), made_up.tables["streets"].copy()
    ranked = lots["rank"].notna()
    street = lots.loc[ranked, "street"].value_counts().loc[lambda counts: counts == 8].index[0]
    lots.loc[ranked & (lots["street"] == street), "storm_kept_m3"] = [1.01] * 7 + [0.08]
    streets.loc[streets["street"] == street, "storm_kept_m3"] = 7.15
    result = replace(made_up, tables={**made_up.tables, "lots": lots, "streets": streets})
    page = new_page().open(write_map(result, tmp_path / "map.html")).page
    page.locator("#tab-streets").click()
    page.locator("#street-table tbody tr", has_text=street).locator("button").click()
    assert page.locator("#street-table tr.chosen td").nth(2).text_content() == "7.2"
    assert "could keep 7.2 m³" in page.locator("#curve").inner_text()
