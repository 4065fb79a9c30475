from __future__ import annotations

import base64
import gzip
import json
import re
from dataclasses import replace
from importlib import resources

import pytest

from screening.outputs.map import map_page
from screening.outputs.map.public_page import PUBLIC_SCRIPTS
from screening.outputs.map.shell import BACKGROUND_SCRIPTS, BACKGROUND_STYLES, SCRIPTS, STYLES, data_element
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
    assert len(page.encode()) < 440_000
    assert "function drawPanel() {" in page
    assert not re.search(r"^\s*//|/\*\* ", page[page.index("function drawPanel() {") :], re.MULTILINE)


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
    assert names == {*SCRIPTS, *PUBLIC_SCRIPTS, *STYLES, *BACKGROUND_SCRIPTS, *BACKGROUND_STYLES}
