from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.outputs.map import write_maps, write_public_map
from screening.outputs.map.pages import parts_of, split_lots
from screening.outputs.map.public_page import _public_streets
from screening.outputs.map.window_source import WindowSource, window_around
from screening.result import Screening
from screening.sources import ArraySource, Window
from tests.outputs.browser import Watched


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 400), st.integers(1, 60), st.integers(0, 99))
def test_every_part_holds_at_most_so_many_lots_and_is_nearly_as_large_as_any(n: int, most: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    x, y = rng.integers(0, 50, n).astype(float), rng.integers(0, 90, n).astype(float)
    parts = split_lots(x, y, most)
    counts = np.bincount(parts)
    assert counts.max() <= most
    assert counts.min() >= min(n, most // 2)
    assert (parts == split_lots(x, y, most)).all()


def test_parts_lie_side_by_side_along_the_longer_side() -> None:
    x, y = np.arange(10.0), np.zeros(10)
    assert split_lots(x, y, 5).tolist() == [0] * 5 + [1] * 5
    assert split_lots(y, x, 5).tolist() == [0] * 5 + [1] * 5


def test_a_window_of_a_raster_is_a_raster() -> None:
    whole = ArraySource(np.arange(100.0).reshape(10, 10), Affine(2, 0, 100, 0, -2, 200))
    window = window_around(whole, (104, 190, 108, 196), 2.0)
    part = WindowSource(whole, window)
    assert window == Window(1, 1, 5, 4)
    assert part.transform == Affine(2, 0, 102, 0, -2, 198)
    assert part.read().tolist() == whole.values[1:6, 1:5].tolist()
    assert part.read(Window(1, 2, 2, 2)).tolist() == whole.values[2:4, 3:5].tolist()
    assert window_around(whole, (0, 0, 900, 900), 0.0) == Window(0, 0, 10, 10)


def test_few_lots_stay_on_one_page(made_up: Screening, tmp_path: Path) -> None:
    assert write_maps(made_up, tmp_path / "map.html") == {"map": tmp_path / "map.html"}
    assert not (tmp_path / "map_pages").exists()


@pytest.mark.browser
def test_the_index_leads_to_each_lots_page(
    new_page: Callable[..., Watched], made_up: Screening, tmp_path: Path
) -> None:
    paths = write_maps(made_up, tmp_path / "map.html", most=12)
    assert list(paths) == ["map", "map_page_1", "map_page_2", "map_page_3", "map_page_4"]
    watched = new_page().open(paths["map"])
    page, lots = watched.page, made_up.tables["lots"]
    ranked = lots[lots["rank"].notna()].sort_values("rank")
    assert page.locator("#lot-rows .lot-name").all_text_contents()[: len(ranked)] == ranked["address"].tolist()
    page.locator("#lot-rows button").nth(4).click()
    assert "Rank 5 of" in page.locator("#lot").text_content()
    page.locator("#lot-page").click()
    page.locator("#lot .reasons, #lot .facts").first.wait_for()
    lot = ranked.iloc[4]
    assert page.locator("#lot-name").text_content() == lot["address"]
    assert f"Rank 5 of {len(ranked)}" in page.locator("#lot").text_content()
    part = parts_of(made_up, 12)[lots.index[lots["lot_id"] == lot["lot_id"]][0]] + 1
    assert page.url.split("#")[0].endswith(f"map_pages/{part}.html")
    assert page.locator("#tab-weights").count() == 0
    page.locator("#summary a").click()
    page.locator("#tab-weights").wait_for()
    assert watched.complaints == []
    assert watched.outside() == []


def test_streets_with_few_lots_are_put_together(made_up: Screening) -> None:
    streets = made_up.tables["streets"].copy()
    streets["lots"] = [10, 2, 2]
    shown = _public_streets(streets)
    assert shown["street"].tolist() == [streets["street"].iloc[0], "Streets with few lots"]
    assert shown["storm_kept_m3"].iloc[1] == pytest.approx(streets["storm_kept_m3"].iloc[1:].sum())
    streets["lots"] = [10, 10, 2]
    assert _public_streets(streets)["street"].tolist() == streets["street"].head(2).tolist()


@pytest.mark.browser
def test_the_public_page_tells_streets_and_no_lots(
    new_page: Callable[..., Watched], made_up: Screening, tmp_path: Path
) -> None:
    lots = made_up.tables["lots"].copy()
    lots["address"] = "9 Hidden Way"
    path = write_public_map(replace(made_up, tables={**made_up.tables, "lots": lots}), tmp_path / "map_public.html")
    assert "Hidden Way" not in path.read_text(encoding="utf-8")
    watched = new_page().open(path)
    page = watched.page
    rows = page.locator("#street-table tbody tr")
    best = made_up.tables["streets"].sort_values("storm_kept_m3", ascending=False).iloc[0]
    assert rows.count() == 3
    assert (
        rows.first.text_content()
        == f"{best['street']}10{best['feasible']}{best['storm_runoff_m3']:.0f}{best['storm_kept_m3']:.0f}"
    )
    assert page.locator("path.leaflet-interactive").count() == 3
    page.locator("#units-choice button", has_text="US").click()
    assert page.locator("thead").text_content().count("gal") == 2
    assert f"{best['storm_kept_m3'] / 0.003785411784:,.0f}" in rows.first.text_content()
    assert watched.complaints == []
    assert watched.outside() == []
