from __future__ import annotations

import base64
import hashlib
import re

import folium
import pytest

from screening.outputs.map.offline_page import MapShell, OfflinePage, content_policy, leaflet_assets


def _page(**texts: str) -> OfflinePage:
    parts = {"head": "", "before": "", "after": "", "last": "", "style": ""} | texts
    return OfflinePage(leaflet_assets(), "en", **parts)


def test_leaflet_stands_in_the_page_without_links() -> None:
    page = _page()
    page.add_child(MapShell(location=(45, -27), tiles=None))
    html = page.render()
    assert "L.map" in html
    assert not re.search(r"<(script|link|img)[^>]*\s(src|href)=", html)
    assert "sourceMappingURL" not in html
    assert "user-scalable=no" not in html
    assert html.startswith('<!DOCTYPE html>\n<html lang="en">')


def test_an_asset_without_a_copy_is_refused() -> None:
    page = _page()
    page.add_child(folium.Map(location=(45, -27), tiles=None))
    with pytest.raises(ValueError, match="no local copy"):
        page.render()


def test_a_link_in_an_element_is_refused() -> None:
    page = _page()
    shell = MapShell(location=(45, -27), tiles=None)
    page.add_child(shell)
    page.header.add_child(folium.Element('<link rel="stylesheet" href="style.css">'))
    with pytest.raises(ValueError, match="no local copy"):
        page.render()


def test_the_policy_allows_the_pages_own_scripts_and_no_others() -> None:
    policy = content_policy('<script>a()</script><script type="application/json">{}</script><style>b{}</style>')
    digest = base64.b64encode(hashlib.sha256(b"a()").digest()).decode()
    assert f"script-src 'sha256-{digest}';" in policy
    assert policy.count("sha256-") == 2
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy


def test_leaflets_pictures_are_data() -> None:
    style = leaflet_assets()["leaflet.css"]
    assert set(re.findall(r"url\((\w+)", style)) == {"data"}


def test_the_policy_gains_the_origins_given_and_nothing_else() -> None:
    plain = content_policy("<style>b{}</style>")
    policy = content_policy("<style>b{}</style>", ["https://tiles.example.org", "http://air.example.com:8080"] * 2)
    assert "img-src data: blob:; base-uri" in plain
    wanted = "img-src data: blob: https://tiles.example.org http://air.example.com:8080;"
    assert policy == plain.replace("img-src data: blob:;", wanted)


@pytest.mark.parametrize(
    "origin",
    [
        "*",
        "https:",
        "https://*",
        "https://a.example.org; script-src *",
        "https://a.example.org\n",
        'https://a"',
        "data:",
        "",
    ],
)
def test_an_origin_that_says_more_is_refused(origin: str) -> None:
    with pytest.raises(ValueError, match="a scheme and a host"):
        content_policy("", [origin])
