"""Measure the map in a real Chromium, beside a plain folium GeoJson page of the same lots in the same run.

    python scripts/bench_map.py [LOTS ...]     # default 500 5000 50000 300000

Prints ratios (folium over ours) first, then the figures: page size, time until it can be used, memory of the scripts,
and ours alone: the median over seven changes of a rule until every lot is ranked anew, and until lists and texts show
it (the map is painted in the frame that follows). Over 5,000 lots ours is an index with pages of its own. Folium is
measured up to 50,000 lots; beyond, its page does not open in minutes. Lots are drawn at random, over 20,000 in blocks
of the same ones; times are of one run.
"""

from __future__ import annotations

import sys
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import folium
import numpy as np
import pandas as pd
from playwright.sync_api import sync_playwright

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from screening.outputs.map.contents import contents_of  # noqa: E402 - found by the path above
from screening.outputs.map.offline_page import leaflet_assets  # noqa: E402
from screening.outputs.map.pages import MOST, index_page, parts_of  # noqa: E402
from screening.outputs.map.shell import map_page  # noqa: E402
from screening.ranking.score import ranks  # noqa: E402
from screening.result import Screening  # noqa: E402
from screening.streets.totals import street_totals  # noqa: E402
from tests.outputs.browser import ARGUMENTS, chromium  # noqa: E402
from tests.outputs.varied_lots import varied_screening  # noqa: E402

FOLIUM_MOST = 50_000
BLOCK = 20_000
SHOWN = ("lot_id", "street", "rank", "score", "verdict", "storm_kept_m3")
CHANGE = """
([box, places]) => {
  const times = [[], []];
  for (const place of places) {
    box.value = place;
    performance.clearMeasures();
    const start = performance.now();
    box.dispatchEvent(new Event(box.type === "range" ? "input" : "change"));
    times[1].push(performance.now() - start);
    times[0].push(performance.getEntriesByName("judged")[0].duration);
  }
  return times.map((some) => some.sort((a, b) => a - b)[Math.floor(some.length / 2)]);
}
"""
CHANGES = {
    "capture depth": ("limit-capture_depth_mm", [-5, -9, -13, -7, -11, -6, -12]),
    "slope limit": ("limit-slope_limit_pct", [-5, -9, -13, -7, -11, -6, -12]),
    "a weight": ("weight-weight_soil", [5, 9, 13, 7, 11, 6, 12]),
    "visits": ("limit-visits", [5, 90, 13, 70, 11, 60, 12]),
}
"""Boxes of the page, and what is put into them; the rules that come first stay changed while the others follow."""


@dataclass
class Measured:
    """What one page came to."""

    page_mb: float
    usable_s: float
    heap_mb: float
    used_mb: float
    changes_ms: dict[str, tuple[float, float]]


def folium_page(lots: Any, path: Path) -> None:
    """A plain page: every lot as GeoJson with a tooltip."""
    degrees = lots.to_crs(4326)[[*SHOWN, "geometry"]].astype({"rank": "float", "score": "float"})
    middle = degrees.geometry.iloc[len(degrees) // 2].centroid
    page = folium.Map(location=[middle.y, middle.x], zoom_start=15, tiles=None, prefer_canvas=True)
    folium.GeoJson(degrees, tooltip=folium.GeoJsonTooltip(list(SHOWN))).add_to(page)
    page.save(str(path))


def serve(route: Any) -> None:
    """Answer what a page asks the network for: Leaflet from our copy, nothing for the rest."""
    name = route.request.url.split("?")[0].rsplit("/", 1)[-1]
    kind = "text/css" if name.endswith(".css") else "application/javascript"
    route.fulfill(status=200, content_type=kind, body=leaflet_assets().get(name, ""))


def memory_mb(session: Any) -> float:
    """Memory of the scripts, that of their arrays of numbers with it."""
    session.send("HeapProfiler.collectGarbage")
    used = session.send("Runtime.getHeapUsage")
    return (used["usedSize"] + used.get("backingStorageSize", 0)) / 1e6


def opened(browser: Any, path: Path, *, ready: str, change: bool) -> Measured:
    """Open a page offline, its Leaflet handed to it where it asks for one, and measure it."""
    context = browser.new_context(viewport={"width": 1280, "height": 800}, bypass_csp=True)
    page = context.new_page()
    page.set_default_timeout(480_000)
    page.route("http*://**/*", serve)
    start = time.perf_counter()
    page.goto(path.as_uri())
    page.wait_for_function(ready)
    usable = time.perf_counter() - start
    session = context.new_cdp_session(page)
    heap, changes = memory_mb(session), {}
    if change:
        page.locator("#tab-weights").click()
        for name, (box, places) in CHANGES.items():
            changes[name] = tuple(page.evaluate(CHANGE, [page.locator(f"#{box}").element_handle(), places]))
    measured = Measured(path.stat().st_size / 1e6, usable, heap, memory_mb(session), changes)
    context.close()
    return measured


def repeated(block: Screening, times: int) -> Screening:
    """A result's lots so many times side by side, each with ids and streets of its own."""
    tables = {}
    wide = np.ptp(block.tables["lots"].total_bounds[[0, 2]])
    for name, table in block.tables.items():
        copies = []
        for number in range(times):
            copy = table.copy()
            for column in ("lot_id", "place", "street"):
                if column in copy.columns:
                    copy[column] = f"{number:02d} " + copy[column]
            if "geometry" in copy.columns:
                copy["geometry"] = copy.geometry.translate(number % 4 * wide, number // 4 * wide)
            copies.append(copy)
        tables[name] = pd.concat(copies, ignore_index=True)
    own = {f"{number:02d} {lot}": rules for number in range(times) for lot, rules in block.own_rules.items()}
    lots = tables["lots"]
    listed = lots["rank"].notna().to_numpy(dtype=bool)
    scores = lots["score"].fillna(0).to_numpy(dtype=np.int64)
    rank = ranks(scores, lots["storm_kept_m3"].to_numpy(dtype=np.float64, na_value=0.0), listed)
    lots["rank"] = pd.array(np.where(listed, rank, 0), dtype="Int64")
    lots.loc[~listed, "rank"] = pd.NA
    tables["streets"] = street_totals(tables["lots"], None, block.rules)
    return replace(block, tables=tables, own_rules=own)


def made_up(count: int) -> Screening:
    """So many varied lots; of many, blocks of the same lots."""
    return varied_screening(count) if count <= BLOCK else repeated(varied_screening(BLOCK), -(-count // BLOCK))


def measured(browser: Any, count: int, folder: Path) -> tuple[Measured, Measured | None]:
    """Ours and folium's page of so many lots."""
    result = made_up(count)
    ours = folder / "map.html"
    page = map_page(result) if count <= MOST else index_page(result, contents_of(result), parts_of(result), "metric")
    ours.write_text(page, encoding="utf-8")
    own = opened(browser, ours, ready="document.body.classList.contains('ready')", change=True)
    if count > FOLIUM_MOST:
        return own, None
    theirs = folder / "folium.html"
    folium_page(result.tables["lots"], theirs)
    return own, opened(browser, theirs, ready="document.readyState === 'complete'", change=False)


def told(name: str, one: Measured) -> str:
    """One page's figures in words."""
    figures = f"  {name}: {one.page_mb:.2f} MB, usable in {one.usable_s:.2f} s, {one.heap_mb:.0f} MB of memory"
    if not one.changes_ms:
        return figures
    changes = (
        f"    {rule}: ranked anew in {least:.0f} ms, shown in {most:.0f} ms"
        for rule, (least, most) in one.changes_ms.items()
    )
    return "\n".join([f"{figures}, {one.used_mb:.0f} MB once rules were tried out", *changes])


def main() -> None:
    """Measure and print."""
    counts = [int(word) for word in sys.argv[1:]] or [500, 5000, 50_000, 300_000]
    with sync_playwright() as play, tempfile.TemporaryDirectory() as folder:
        browser = play.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        for count in counts:
            own, other = measured(browser, count, Path(folder))
            if other is not None:
                names = {"size": "page_mb", "time": "usable_s", "memory": "heap_mb"}
                ratios = (f"{word} {getattr(other, name) / getattr(own, name):.1f}" for word, name in names.items())
                print(f"{count:,} lots: folium over ours: {', '.join(ratios)}")
            print(told(f"ours ({'page' if count <= MOST else 'index'})", own), flush=True)
            if other is not None:
                print(told("folium", other), flush=True)
        browser.close()


if __name__ == "__main__":
    main()
