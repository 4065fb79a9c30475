"""Backgrounds of the map in a real browser: nothing is asked for until the reader says so, and only what was said."""

from __future__ import annotations

import json
import re
import struct
import zlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from screening.background import Background, OnlineTiles, Photo
from screening.outputs.map import map_page, write_map, write_maps, write_public_map
from screening.result import Screening
from tests.outputs.browser import WIDTHS, Watched
from tests.outputs.map.made_up_photo import PHOTO_TILES, TILES, background_for
from tests.outputs.map.test_hostile_text import HOSTILE

Opener = Callable[..., Watched]


def _png(red: int, green: int, blue: int) -> bytes:
    """A tile of one colour."""
    rows = (b"\0" + bytes([red, green, blue]) * 256) * 256

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", 256, 256, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")


GREY_TILE = _png(120, 120, 120)


@pytest.fixture(scope="module")
def page_path(made_up: Screening, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("background")
    return write_map(replace(made_up, background=background_for(made_up, folder)), folder / "map.html")


def _layers(watched: Watched, path: Path) -> Any:
    """The page, opened, with its layers in view."""
    page = watched.open(path).page
    page.locator("#tab-layers").click()
    return page


def _served(watched: Watched, fails: Callable[[str], bool] = lambda _: False) -> list[str]:
    """Answer what the page asks of the made-up hosts; the addresses asked for."""
    asked: list[str] = []

    def answer(route: Any) -> None:
        asked.append(route.request.url)
        if fails(route.request.url):
            route.abort("connectionrefused")
        else:
            route.fulfill(body=GREY_TILE, content_type="image/png")

    watched.page.route(re.compile("^https?:"), answer)
    return asked


def _told(page: str) -> Any:
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', page)
    assert found
    return json.loads(found.group(1))


def _policy(page: str) -> str:
    found = re.search(r'Content-Security-Policy" content="([^"]*)"', page)
    assert found
    return found.group(1)


def test_without_a_background_the_page_holds_nothing_of_it(made_up: Screening, tmp_path: Path) -> None:
    plain = map_page(made_up)
    assert "img-src data: blob:; base-uri" in plain
    for word in ("backgroundChoices", "leaflet-beneath-pane", 'id="photo"', '"background"'):
        assert word not in plain
    # a photo of elsewhere gives no page either
    far = background_for(made_up, tmp_path).photo
    west = made_up.rasters["heights_m"]
    moved = replace(west, transform=west.transform.translation(90_000, 0) @ west.transform)
    elsewhere = replace(made_up, rasters={**made_up.rasters, "heights_m": moved}, background=Background(far))
    assert "backgroundChoices" not in map_page(elsewhere)


def test_the_policy_lets_in_pictures_of_the_hosts_named_and_nothing_else(made_up: Screening, tmp_path: Path) -> None:
    given = background_for(made_up, tmp_path)
    page = map_page(replace(made_up, background=given))
    policy = _policy(page)
    assert "img-src data: blob: https://tiles.example.org https://air.example.com:8443;" in policy
    assert policy.count("example") == 2
    assert policy.startswith("default-src 'none'; script-src 'sha256-")
    assert _policy(map_page(replace(made_up, background=Background(given.photo)))).count("http") == 0
    assert page == map_page(replace(made_up, background=given))
    told = _told(page)["background"]
    assert told["online"]["tiles"]["address"] == TILES.address
    assert told["photo"]["names"] == ["photo.tif"]


def test_the_public_map_never_has_one(made_up: Screening, tmp_path: Path) -> None:
    path = write_public_map(replace(made_up, background=background_for(made_up, tmp_path)), tmp_path / "public.html")
    assert path.read_bytes() == write_public_map(made_up, tmp_path / "plain.html").read_bytes()


def test_each_page_of_a_large_area_holds_its_own_photo_and_the_index_none(made_up: Screening, tmp_path: Path) -> None:
    given = replace(made_up, background=background_for(made_up, tmp_path))
    paths = write_maps(given, tmp_path / "map.html", most=16)
    told = {name: _told(path.read_text("utf-8")) for name, path in paths.items()}
    assert told["map"]["background"]["photo"] is None
    assert set(told["map"]["background"]["online"]) == {"tiles", "photo_tiles"}
    bounds = [told[f"map_page_{number}"]["background"]["photo"]["bounds"] for number in (1, 2)]
    assert bounds[0] != bounds[1]
    for number in (1, 2):
        own = told[f"map_page_{number}"]
        assert own["background"]["photo"]["bounds"][0] == pytest.approx(own["bounds"][0], abs=1e-5)
        assert own["background"]["photo"]["bounds"][1] == pytest.approx(own["bounds"][1], abs=1e-5)
    only_photo = replace(made_up, background=Background(given.background.photo))
    index = write_maps(only_photo, tmp_path / "map.html", most=16)["map"].read_text("utf-8")
    assert index == write_maps(made_up, tmp_path / "map.html", most=16)["map"].read_text("utf-8")


@pytest.mark.browser
def test_nothing_is_asked_for_until_switched_on_and_then_only_of_that_host(new_page: Opener, page_path: Path) -> None:
    watched = new_page()
    asked = _served(watched)
    page = watched.open(page_path).page
    page.locator("#lot-rows button").first.click()
    page.locator("#whole-area").click()
    page.locator("#tab-layers").click()
    page.wait_for_timeout(300)
    assert asked == []
    assert page.locator("#map-credit").count() == 0
    page.keyboard.press("Escape")
    page.locator("#background-tiles").focus()
    page.keyboard.press("Space")
    page.locator(".leaflet-beneath-pane img.leaflet-tile-loaded").first.wait_for()
    assert asked
    assert all(url.startswith("https://tiles.example.org/") and url.endswith(".png?key=made-up") for url in asked)
    assert page.locator("#map-credit").text_content() == TILES.credit
    assert page.locator("#tab-layers").get_attribute("aria-selected") == "true"
    page.locator("#background-tiles").uncheck()
    assert page.locator("#map-credit").count() == 0
    assert page.locator(".leaflet-beneath-pane img.leaflet-tile").count() == 0
    before = len(asked)
    page.locator(".leaflet-control-zoom-in").click()
    page.wait_for_timeout(300)
    assert len(asked) == before
    assert watched.complaints == []
    assert watched.outside() == asked


@pytest.mark.browser
def test_the_tiles_asked_for_are_those_of_the_place(new_page: Opener, page_path: Path) -> None:
    watched = new_page()
    asked = _served(watched)
    page = _layers(watched, page_path)
    page.evaluate("map_lots.setView([45.0005, -27], 18, {animate: false})")
    page.locator("#background-tiles").check()
    page.locator("#background-photo_tiles").check()
    page.wait_for_timeout(400)
    # by the formula of Web Mercator tiles: x = 2^18 (180 - 27) / 360 = 111411.2,
    # y = 2^18 (1 - ln(tan 45.0005° + sec 45.0005°) / pi) / 2 = 94299.2; from the south 2^18 - 1 - 94299 = 167844
    assert "https://tiles.example.org/18/111411/94299.png?key=made-up" in asked
    assert "https://air.example.com:8443/18/111411/167844.jpg" in asked
    # closer up than the service goes, its deepest pictures are enlarged: 18 for the one, 19 for the other
    asked.clear()
    page.evaluate("map_lots.setView([45.0005, -27], 21, {animate: false})")
    page.wait_for_timeout(400)
    depths = {(url.split("/")[2], url.split("/")[3]) for url in asked}
    assert ("air.example.com:8443", "19") in depths
    assert depths <= {("air.example.com:8443", "19"), ("tiles.example.org", "18")}
    assert watched.complaints == []


@pytest.mark.browser
def test_at_the_next_opening_all_are_off_again(new_page: Opener, page_path: Path) -> None:
    watched = new_page()
    asked = _served(watched)
    page = _layers(watched, page_path)
    for name in ("tiles", "photo_tiles", "photo"):
        page.locator(f"#background-{name}").check()
    page.locator("#background-relief").uncheck()
    page.wait_for_timeout(300)
    assert asked
    asked.clear()
    page.reload()
    page.locator("body.ready").wait_for()
    page.locator("#tab-layers").click()
    page.wait_for_timeout(300)
    assert asked == []
    for name in ("tiles", "photo_tiles", "photo"):
        assert not page.locator(f"#background-{name}").is_checked()
    assert page.locator("#background-relief").is_checked()
    assert page.locator(".leaflet-ground-pane img").count() == 1


@pytest.mark.browser
def test_pictures_that_do_not_come_are_told_calmly_and_forgotten_once_they_do(
    new_page: Opener, page_path: Path
) -> None:
    watched = new_page()
    down = [True]
    _served(watched, lambda _: down[0])
    page = _layers(watched, page_path)
    page.locator("#background-tiles").check()
    told = "tiles.example.org cannot be reached or has no pictures here."
    page.wait_for_function("told => document.getElementById('map-credit')?.textContent === told", arg=told)
    assert page.locator("#said").text_content() == told
    assert page.locator(".leaflet-ground-pane img").count() == 1
    down[0] = False
    page.locator("#background-tiles").uncheck()
    page.locator("#background-tiles").check()
    page.wait_for_function("told => document.getElementById('map-credit')?.textContent === told", arg=TILES.credit)
    assert not [one for one in watched.complaints if one.startswith(("error:", "dialog:"))]


@pytest.mark.browser
def test_some_pictures_that_do_not_come_leave_the_credit_of_the_others(new_page: Opener, page_path: Path) -> None:
    watched = new_page()
    _served(watched, lambda url: "/94299." in url)
    page = _layers(watched, page_path)
    page.locator("#background-tiles").check()
    told = f"{TILES.credit}tiles.example.org gave no picture for part of the map."
    page.wait_for_function("told => document.getElementById('map-credit')?.textContent === told", arg=told)


@pytest.mark.browser
def test_a_host_that_does_not_answer_is_told_after_a_while(new_page: Opener, page_path: Path) -> None:
    watched = new_page()
    watched.page.route(re.compile("^https?:"), lambda _: None)
    watched.page.clock.install()
    page = watched.page
    page.goto(page_path.as_uri())
    page.locator("#background-tiles").wait_for(state="attached")
    page.locator("#tab-layers").click()
    page.locator("#background-tiles").check()
    page.clock.run_for(9_000)
    assert "not answered" not in (page.locator("#map-credit").text_content() or "")
    page.clock.run_for(2_000)
    assert "tiles.example.org has not answered so far." in page.locator("#map-credit").text_content()


@pytest.mark.browser
def test_the_photo_shows_through_the_lots_and_needs_no_network(new_page: Opener, page_path: Path) -> None:
    watched = new_page()
    page = _layers(watched, page_path)
    colours = {}
    for name in ("plain", "over"):
        if name == "over":
            page.locator("#background-photo").check()
        image = page.locator(".leaflet-beneath-pane img.leaflet-image-layer")
        assert image.count() == (name == "over")
        colours[name] = page.evaluate(_ALPHA_OF_LOTS)
    assert colours["plain"] > 0.7
    assert 0.2 < colours["over"] < 0.5
    assert page.locator("#map-credit").count() == 0
    page.locator("#background-photo").uncheck()
    assert page.evaluate(_ALPHA_OF_LOTS) == colours["plain"]
    assert watched.outside() == []
    assert not [one for one in watched.complaints if "willReadFrequently" not in one]


_ALPHA_OF_LOTS = """(() => {
  const counts = new Map();
  for (const canvas of document.querySelectorAll("canvas.leaflet-tile")) {
    const {data} = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
    for (let at = 3; at < data.length; at += 4) {
      if (data[at] > 20) counts.set(data[at], (counts.get(data[at]) || 0) + 1);
    }
  }
  return [...counts].filter(([alpha]) => alpha < 250).sort((a, b) => b[1] - a[1])[0][0] / 255;
})()"""
"""How opaque most of what is drawn is, labels and lines aside."""


@pytest.mark.browser
@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_backgrounds_stand_in_nobodys_way(width: str, scheme: str, new_page: Opener, page_path: Path) -> None:
    watched = new_page(width, scheme)
    _served(watched, lambda url: "air.example" in url)
    page = _layers(watched, page_path)
    for name in ("tiles", "photo_tiles", "photo"):
        page.locator(f"#background-{name}").check()
    page.wait_for_function("document.getElementById('map-credit')?.textContent.includes('cannot be reached')")
    problems = {
        f"{violation['id']}: {node['html'][:150]}"
        for violation in Axe().run(page).response["violations"]
        for node in violation["nodes"]
    }
    assert not problems, "\n".join(sorted(problems))
    group = page.get_by_role("group", name="Background")
    assert group.get_by_role("checkbox").count() == 4
    box = group.get_by_role("checkbox", name="Online map", exact=True)
    means = page.locator(f"#{box.get_attribute('aria-describedby')}").text_content()
    assert "asks tiles.example.org for pictures" in means
    assert "Nothing else leaves the page." in means
    assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[width][0]


@pytest.mark.browser
def test_print_waits_for_the_pictures_of_its_size(new_page: Opener, page_path: Path) -> None:
    watched = new_page()
    asked = _served(watched)
    page = _layers(watched, page_path)
    page.locator("#background-tiles").check()
    page.evaluate("map_lots.setView([45.0005, -27], 21, {animate: false})")
    page.wait_for_timeout(300)
    page.evaluate("""() => { window.print = () => {
      window.dispatchEvent(new Event("beforeprint"));
      const came = document.querySelectorAll(".leaflet-beneath-pane img.leaflet-tile-loaded");
      window.printed = [came.length, map_lots.getZoom()];
      window.dispatchEvent(new Event("afterprint"));
    }; }""")
    page.locator("#print-button").click()
    page.wait_for_function("window.printed")
    tiles, zoom = page.evaluate("window.printed")
    assert tiles > 0
    assert zoom < 18.5
    assert page.evaluate("map_lots.getZoom()") == 21
    assert not page.evaluate("document.body.classList.contains('printing')")
    assert asked
    page.emulate_media(media="print")
    assert page.locator("#map-credit").is_visible()


@pytest.mark.browser
def test_hostile_credits_and_names_are_shown_as_text(new_page: Opener, made_up: Screening, tmp_path: Path) -> None:
    text = "".join(HOSTILE)
    given = background_for(made_up, tmp_path)
    files = tuple(replace(file, name=text) for file in given.photo.files)
    hostile = Background(
        Photo(files, text), OnlineTiles(TILES.address, text), OnlineTiles(PHOTO_TILES.address + "?q={{7*7}}", text)
    )
    watched = new_page()
    _served(watched)
    page = watched.open(write_map(replace(made_up, background=hostile), tmp_path / "map.html")).page
    page.locator("#tab-layers").click()
    for name in ("tiles", "photo"):
        page.locator(f"#background-{name}").check()
    page.locator(".leaflet-beneath-pane img.leaflet-tile-loaded").first.wait_for()
    assert page.locator("#map-credit p").all_text_contents() == [text, text]
    assert text in page.locator("#background-photo-means").text_content()
    assert page.locator("#main img:not(.leaflet-image-layer, .leaflet-tile), svg[onload]").count() == 0
    assert watched.complaints == []
