"""Take the pictures of the README and of the map's guide from the real map of the made-up demo area, in Chromium.

Run from the project's folder: ``python scripts/draw_guide.py [FOLDER OF A DEMO RUN]``; without one the demo area is
screened first. Pictures go to ``screening/guide/``, each of few colours so that it stays small.
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import sync_playwright

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from screening.demo_data import demo_area_path  # noqa: E402 - found by the path above
from screening.pipeline import run_area  # noqa: E402
from tests.outputs.browser import ARGUMENTS, Watched, chromium  # noqa: E402

GUIDE = ROOT / "screening" / "guide"
COLOURS = 144
SIZE = {"width": 1080, "height": 640}
FIRST_SIZE = {"width": 1280, "height": 800}
"""Of the README's picture, the page as it opens."""


def keep(page: Any, name: str) -> None:
    """Save what the page shows as a picture of few colours."""
    page.wait_for_timeout(400)
    picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    small = picture.quantize(COLOURS, Image.Quantize.MAXCOVERAGE, kmeans=4, dither=Image.Dither.NONE)
    small.save(GUIDE / f"{name}.png", optimize=True)
    print(f"{name}.png: {(GUIDE / f'{name}.png').stat().st_size / 1000:.0f} kB")


def draw(map_file: Path) -> None:
    """Take every picture, in the order of the guide."""
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        context = started.new_context(viewport=SIZE, offline=True, reduced_motion="reduce", color_scheme="light")
        page = Watched(context.new_page()).open(map_file).page
        page.set_viewport_size(FIRST_SIZE)
        page.locator("#whole-area").click()
        keep(page, "map")
        page.set_viewport_size(SIZE)
        page.locator("#whole-area").click()
        keep(page, "walk_first_lots")
        page.locator("#lot-rows button").first.click()
        keep(page, "walk_why")
        page.keyboard.press("Escape")
        page.locator("#whole-area").click()
        page.locator("#colour-by").select_option("limit")
        page.locator("#filters summary").click()
        page.locator("#filter-verdict").select_option("ruled out")
        page.locator("#lot-rows button").first.click()
        keep(page, "walk_ruled_out")
        page.keyboard.press("Escape")
        page.locator("#clear").click()
        page.locator("#colour-by").select_option("suitability")
        page.locator("#tab-streets").click()
        page.locator("#street-table tbody button").first.click()
        keep(page, "walk_street")
        page.locator("#street-table tbody button").first.click()
        page.locator("#colour-by").select_option("inlet")
        page.locator("#inlet-table tbody button").nth(1).click()
        page.locator("#inlet-intro").scroll_into_view_if_needed()
        keep(page, "walk_inlets")
        page.locator("#inlet-table tbody button").nth(1).click()
        page.locator("#colour-by").select_option("suitability")
        page.locator("#tab-weights").click()
        page.locator("#limit-capture_depth_mm").fill("-13")
        keep(page, "walk_capture_depth")
        started.close()


def main() -> None:
    """Draw from the folder named, or from a run of the demo area."""
    if len(sys.argv) > 1:
        draw(Path(sys.argv[1]).resolve() / "map.html")
        return
    with tempfile.TemporaryDirectory() as folder:
        _, paths = run_area(demo_area_path(), Path(folder) / "out")
        draw(paths["map"])


if __name__ == "__main__":
    main()
