from __future__ import annotations

import re
from collections.abc import Callable
from importlib.resources import files

import pytest

from screening.outputs.sheets.plan_drawing import downspout_labels
from tests.outputs.browser import Watched

ONE_ROOF = [("R1/01-002/a", True), ("R1/01-002/b", True)]
TWO_ROOFS = [("R2/01-002/a", True), ("R10/01-002/a", True), ("S001", False), ("R2/01-002/b", True)]
GIVEN = [("12/3", False), ("R1/01-002/a", True)]


def test_letters_of_one_roof_and_numbers_before_them_where_there_are_several() -> None:
    assert downspout_labels(ONE_ROOF) == ["a", "b"]
    assert downspout_labels(TWO_ROOFS) == ["2a", "1a", "S001", "2b"]
    assert downspout_labels(GIVEN) == ["12/3", "a"]
    assert downspout_labels([]) == []


@pytest.mark.browser
def test_the_map_calls_them_the_same(new_page: Callable[..., Watched]) -> None:
    source = files("screening").joinpath("outputs/map/page/panel.js").read_text(encoding="utf-8")
    found = re.search(r"^function downspoutLabels.*?^}", source, re.DOTALL | re.MULTILINE)
    assert found is not None
    page = new_page().page
    for spouts in (ONE_ROOF, TWO_ROOFS, GIVEN, []):
        said = page.evaluate(f"spouts => {{ {found[0]}; return downspoutLabels(spouts); }}", spouts)
        assert said == downspout_labels(spouts)
