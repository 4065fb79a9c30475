"""Measure the map in a real Chromium, beside a plain folium GeoJson page of the same lots in the same run.

    python scripts/bench_map.py [LOTS ...]     # default 500 5000 50000 300000

Prints ratios (folium over ours) first, then the figures: page size, time until it can be used, memory of the scripts,
and ours alone: judging and ranking every lot anew. Over 5,000 lots ours is an index with pages of its own. Folium is
measured up to 50,000 lots; beyond, its page does not open in minutes. Lots are drawn at random; times are of one run.
"""

from __future__ import annotations

import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import folium
import numpy as np
from playwright.sync_api import sync_playwright

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from screening.outputs.map.contents import contents_of  # noqa: E402 - found by the path above
from screening.outputs.map.offline_page import leaflet_assets  # noqa: E402
from screening.outputs.map.pages import MOST, index_page, parts_of  # noqa: E402
from screening.outputs.map.shell import map_page  # noqa: E402
from tests.outputs.browser import ARGUMENTS, chromium  # noqa: E402
from tests.outputs.varied_lots import varied_screening  # noqa: E402

FOLIUM_MOST = 50_000
SHOWN = ("lot_id", "street", "rank", "score", "verdict", "storm_kept_m3")
JUDGE = """
() => {
  const box = document.getElementById("limit-capture_depth_mm");
  const times = [];
  for (const place of [-5, -9, -13, -7, -11]) {
    box.value = place;
    performance.clearMeasures();
    box.dispatchEvent(new Event("input"));
    times.push(performance.getEntriesByName("judged")[0].duration);
  }
  return times.sort((a, b) => a - b)[2];
}
"""


@dataclass
class Measured:
    """What one page came to."""

    page_mb: float
    usable_s: float
    heap_mb: float
    judged_ms: float = float("nan")


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


def opened(browser: Any, path: Path, *, ready: str, judge: bool) -> Measured:
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
    session.send("HeapProfiler.collectGarbage")
    heap = session.send("Runtime.getHeapUsage")["usedSize"] / 1e6
    judged = page.evaluate(JUDGE) if judge else float("nan")
    context.close()
    return Measured(path.stat().st_size / 1e6, usable, heap, judged)


def measured(browser: Any, count: int, folder: Path) -> tuple[Measured, Measured | None]:
    """Ours and folium's page of so many lots."""
    result = varied_screening(count)
    ours = folder / "map.html"
    page = map_page(result) if count <= MOST else index_page(result, contents_of(result), parts_of(result), "metric")
    ours.write_text(page, encoding="utf-8")
    own = opened(browser, ours, ready="document.body.classList.contains('ready')", judge=True)
    if count > FOLIUM_MOST:
        return own, None
    theirs = folder / "folium.html"
    folium_page(result.tables["lots"], theirs)
    return own, opened(browser, theirs, ready="document.readyState === 'complete'", judge=False)


def main() -> None:
    """Measure and print."""
    counts = [int(word) for word in sys.argv[1:]] or [500, 5000, 50_000, 300_000]
    with sync_playwright() as play, tempfile.TemporaryDirectory() as folder:
        browser = play.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        for count in counts:
            own, other = measured(browser, count, Path(folder))
            what = "page" if count <= MOST else "index"
            if other is not None:
                ratios = [getattr(other, name) / getattr(own, name) for name in ("page_mb", "usable_s", "heap_mb")]
                told = ", ".join(
                    f"{name} {ratio:.1f}" for name, ratio in zip(("size", "time", "memory"), ratios, strict=True)
                )
                print(f"{count:,} lots: folium over ours: {told}")
            for name, one in (("ours", own), ("folium", other)):
                if one is not None:
                    tail = f", judged anew in {one.judged_ms:.0f} ms" if np.isfinite(one.judged_ms) else ""
                    figures = f"{one.page_mb:.2f} MB, usable in {one.usable_s:.2f} s, {one.heap_mb:.0f} MB of memory"
                    print(f"  {name} ({what if name == 'ours' else 'page'}): {figures}{tail}", flush=True)
        browser.close()


if __name__ == "__main__":
    main()
