import importlib.util
from pathlib import Path

import matplotlib as mpl
import pytest

SCRIPT = Path(__file__).parents[2] / "scripts" / "draw_cases.py"


@pytest.fixture(scope="module")
def draw_cases():
    spec = importlib.util.spec_from_file_location("draw_cases", SCRIPT)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_a_picture_shows_lot_spot_and_leads(draw_cases):
    figure = mpl.figure.Figure()
    axes = figure.add_subplot()
    site = next(site for site in draw_cases.SITES if site.name == "easement through")
    assert draw_cases.picture(axes, 4, site)
    colours = {mpl.colors.to_hex(patch.get_facecolor()) for patch in axes.patches}
    assert {draw_cases.GARDEN, draw_cases.RING, draw_cases.OPEN, "#f0c987"} <= colours
    assert sum(mpl.colors.to_hex(line.get_color()) == draw_cases.LEAD for line in axes.lines) == 2
    assert axes.get_title(loc="left") == "4. easement through"


def test_the_sheet_has_every_lot(draw_cases):
    assert len({site.name for site in (*draw_cases.SITES, *draw_cases.MORE_SITES)}) >= 28
