"""Put the page together: folium's shell with the ground's pictures, the data, and the page's own files."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from importlib import resources
from pathlib import Path
from typing import Any, Final

import folium
from branca.element import Element

from screening.outputs.map.background import PageBackground, Stretch, background_of
from screening.outputs.map.contents import Contents, page_contents, page_texts
from screening.outputs.map.offline_page import MapShell, OfflinePage, leaflet_assets
from screening.outputs.map.relief import Picture, hillshade_picture, slope_breaks, slope_picture
from screening.outputs.palette import palette_css
from screening.outputs.write import write_text
from screening.ranking.sentences import Units
from screening.result import Screening

__all__ = ["SCRIPTS", "STYLES", "assemble", "data_element", "map_page", "write_map"]

SCRIPTS: Final = (
    "elements.js", "unpack.js", "units.js", "reasons.js", "store.js", "colours.js", "place_index.js", "layers.js",
    "draw_lots.js", "draw_garden.js", "canvas_layer.js", "map_view.js", "filters.js",
    "candidate_figures.js", "garden_size.js", "limits.js", "judge_columns.js", "judge.js", "rank.js", "live.js",
    "season.js", "list.js", "facts.js", "panel.js",
    "sums_table.js", "streets.js", "inlets.js", "key.js", "try_out.js", "about.js", "start.js",
)  # fmt: skip
"""The page's scripts in the order they are joined; each may use what stands before it."""

STYLES: Final = ("page.css", "list.css", "panel.css", "map.css", "print.css")

BACKGROUND_SCRIPTS: Final = ("background.js",)
BACKGROUND_STYLES: Final = ("background.css",)
"""What stands beside these on a page with backgrounds, and on no other."""


def with_background(scripts: Sequence[str]) -> tuple[str, ...]:
    """The scripts of a page with backgrounds: the last one starts the page, and stays the last."""
    return (*scripts[:-1], *BACKGROUND_SCRIPTS, scripts[-1])


_COMMENT: Final = re.compile(r"^[ \t]*(?://.*|/\*\*(?:(?!\*/)[\s\S])*\*/)[ \t]*\n", re.MULTILINE)
"""A comment that has its lines to itself."""


def _file(name: str) -> str:
    """One of the page's files; a script without the comments that stand on lines of their own."""
    text = resources.files("screening.outputs.map").joinpath("page", name).read_text(encoding="utf-8")
    return _COMMENT.sub("", text) if name.endswith(".js") else text


def data_element(name: str, data: Any) -> str:
    """Data as a JSON element of the page: nothing in it can end the element or be read as anything but text."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return f'<script type="application/json" id="{name}">{text}</script>'


def _named(element: Element, name: str) -> Element:
    """Give an element a name of ours, so that equal inputs give equal pages."""
    element._id = name
    return element


def _add_picture(shell: MapShell, picture: Picture, name: str, z_index: int) -> None:
    """Lay a picture of the ground under the lots, in a pane of its own."""
    shell.add_child(_named(folium.map.CustomPane(name, z_index=z_index), name))
    overlay = folium.raster_layers.ImageOverlay(
        picture.url, [list(corner) for corner in picture.bounds], pixelated=False, control=False, pane=name, alt=""
    )
    shell.add_child(_named(overlay, name))


def assemble(
    meta: dict[str, Any],
    packed: str,
    pictures: Mapping[str, Picture],
    *,
    scripts: Sequence[str] = SCRIPTS,
    body: str = "full",
    background: PageBackground | None = None,
) -> str:
    """Put a page together.

    Parameters
    ----------
    meta
        What goes into the page as JSON.
    packed
        The packed numbers as base64.
    pictures
        The ground's pictures by name; ``ground`` is the base and gives the map its place.
    scripts
        Files of the page's script, in order.
    body
        Which body: ``full`` or ``public``.
    background
        What the reader may lay under the map; a page without any has no script for it.
    """
    (south, west), (north, east) = pictures["ground"].bounds
    meta = meta | {"bounds": [[south, west], [north, east]]}
    styles: tuple[str, ...] = STYLES
    beside: list[str] = []
    if background is not None:
        scripts, styles = with_background(scripts), (*STYLES, *BACKGROUND_STYLES)
        meta |= {"background": background.told()}
        beside = [f'<script type="application/octet-stream" id="photo">{background.photo_url}</script>']
    style = "\n".join([palette_css(), *(_file(name) for name in styles)])
    script = "\n".join(["(function () {", '"use strict";', *(_file(name) for name in scripts), "})();"])
    after = "\n".join(
        [
            _file(f"{body}_after.html"),
            data_element("data", meta),
            f'<script type="application/octet-stream" id="numbers">{packed}</script>',
            *beside,
        ]
    )
    page = OfflinePage(
        leaflet_assets(), "en", head=_file("head.html"), before=_file(f"{body}_before.html"), after=after,
        last=f"<script>{script}</script>", style=style, origins=background.origins if background else (),
    )  # fmt: skip
    shell = MapShell(
        location=((south + north) / 2, (west + east) / 2), tiles=None, zoom_start=16, max_zoom=22, zoom_snap=0.25,
        zoom_control=False, attribution_control=False, fade_animation=False, font_size="0.8rem",
    )  # fmt: skip
    page.add_child(_named(shell, "lots"))
    for number, (name, picture) in enumerate(pictures.items()):
        _add_picture(shell, picture, name, 150 + 10 * number)
    return page.render()


def map_page(
    result: Screening,
    units: Units = "metric",
    *,
    addresses: bool = True,
    contents: Contents | None = None,
    texts: Mapping[str, Any] | None = None,
    stretch: Stretch | None = None,
) -> str:
    """The whole map as one HTML page; equal results give equal pages.

    Parameters
    ----------
    result
        The result of a run.
    units
        Units that the page starts with; it has a switch.
    addresses
        False leaves addresses out: nothing on the page or in its source holds them.
    contents, texts
        For a part of a large area, what its page holds of the tables and what it says; the whole unless told.
    stretch
        For a part of a large area, which values of a photo of 16 bits are black and white in the whole of it.
    """
    result = result.by_place()
    meta, packed = page_contents(result, contents, addresses=addresses)
    told = page_texts(result) if texts is None else texts
    meta = {**told, **meta, "units": units, "slope_breaks": list(slope_breaks(result.rules))}
    pictures = {"ground": hillshade_picture(result.rasters["heights_m"], result.crs)}
    if "slope_pct" in result.rasters:
        pictures["slope"] = slope_picture(result.rasters["slope_pct"], result.crs, result.rules)
    return assemble(meta, packed, pictures, background=background_of(result, stretch))


def write_map(result: Screening, path: Path, units: Units = "metric", *, addresses: bool = True) -> Path:
    """Write ``map.html``, all lots on one page."""
    return write_text(path, map_page(result, units, addresses=addresses))
