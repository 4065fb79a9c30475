from __future__ import annotations

import base64
import gzip
import json
import re
from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
import shapely
from pyproj import CRS

from screening.outputs.map import map_page
from screening.outputs.map.pack import Pack
from screening.outputs.map.public_page import PUBLIC_SCRIPTS
from screening.outputs.map.shapes import FINE, pack_shapes
from screening.outputs.map.shell import SCRIPTS, STYLES, data_element
from screening.result import Screening
from tests.outputs.made_up import make_screening

HOSTILE = [
    "</script><script>alert(1)</script>",
    "{{7*7}}",
    "{% raw %}",
    "<img src=x onerror=alert(1)>",
    "`${1}`",
    "a\u2028b",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_data_cannot_end_its_element_and_comes_back(text: str) -> None:
    element = data_element("data", {"text": text})
    inner = re.fullmatch(r'<script type="application/json" id="data">(.*)</script>', element)
    assert inner
    assert not re.search("[<>&\u2028\u2029]", inner.group(1))
    assert json.loads(inner.group(1)) == {"text": text}


def test_numbers_that_json_lacks_are_refused() -> None:
    with pytest.raises(ValueError, match="JSON"):
        data_element("data", {"n": float("inf")})


def test_equal_results_give_equal_pages_of_modest_size(made_up: Screening) -> None:
    page = map_page(made_up)
    assert page == map_page(make_screening())
    assert len(page.encode()) < 400_000


def test_addresses_can_be_left_out(made_up: Screening) -> None:
    lots = made_up.tables["lots"].copy()
    lots["address"] = [f"{number} Hidden Way" for number in range(len(lots))]
    page = map_page(replace(made_up, tables={**made_up.tables, "lots": lots}), addresses=False)
    packed = re.search(r'id="numbers">([^<]*)<', page)
    assert packed
    assert b"Hidden Way" not in gzip.decompress(base64.b64decode(packed.group(1)))
    assert "Hidden Way" not in page


def test_every_file_of_the_page_is_used() -> None:
    folder = resources.files("screening.outputs.map").joinpath("page")
    names = {file.name for file in folder.iterdir() if file.name.endswith((".js", ".css"))}
    assert names == {*SCRIPTS, *PUBLIC_SCRIPTS, *STYLES}


def test_shapes_are_told_as_moves_in_parts_of_a_degree() -> None:
    hole = shapely.Polygon(shapely.box(0, 0, 4, 4).exterior, [shapely.box(1, 1, 2, 2).exterior])
    two = shapely.MultiPolygon([shapely.box(5, 5, 6, 6), shapely.box(8, 8, 9, 9)])
    pack = Pack()
    told = pack_shapes(pack, [hole, None, two], CRS.from_epsg(4326), FINE)
    assert told["kind"] == "polygon"
    data = gzip.decompress(base64.b64decode(pack.base64()))
    counts, sizes, moves = (pack.directory()[told[name]] for name in ("counts", "sizes", "moves"))
    assert data[: counts[1]] == bytes([2, 0, 2])
    assert data[counts[1] : counts[1] + sizes[1]] == bytes([4, 4, 4, 4])
    assert moves[0] == 2 * 16


def test_a_detail_of_the_shapes_survives(made_up: Screening) -> None:
    lots = np.asarray(made_up.tables["lots"].geometry.array)
    pack = Pack()
    pack_shapes(pack, lots, made_up.crs, 1_000_000)
    assert pack.directory()[0] == [30, 30]
