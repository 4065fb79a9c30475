"""One neighbourhood of a larger area: its lots get the answer that they get when everything is screened."""

import re

import pandas as pd

from screening.demo_data import demo_area_path
from screening.pipeline import read_area, screen

AMONG_ALL = {"rank", "rank_group", "rank_low", "rank_high", "chance_in_first"}
"""What a lot is told of its place among the others."""


def area_file(folder, name, within=""):
    """The demo area without its field results, its files where they are, screened as a whole or in part."""
    demo = demo_area_path()
    text = demo.read_text(encoding="utf-8").split("[field]")[0]
    text = re.sub(r'^(file|export) = "(.*)"$', rf'\1 = "{demo.parent.as_posix()}/\2"', text, flags=re.MULTILINE)
    path = folder / name
    path.write_text(text.replace("[elevation]", f"{within}[elevation]", 1), encoding="utf-8")
    return path


def test_lots_of_a_part_get_the_answer_of_the_whole(tmp_path):
    whole = read_area(area_file(tmp_path, "whole.toml"))
    west, south, east, north = whole.area.elevation.bounds_m
    x, y = (west + east) / 2, (south + north) / 2
    crs = whole.area.crs.to_epsg()
    box = f'[within]\nbox = [{x - 130}, {y - 100}, {x + 130}, {y + 100}]\ncrs = "EPSG:{crs}"\nmargin = 160\n\n'
    part = read_area(area_file(tmp_path, "part.toml", box))
    assert part.area.elevation.values.size < 0.6 * whole.area.elevation.values.size
    mine, all_lots = (screen(read.area, read.rules).tables for read in (part, whole))
    lots = mine["lots"].set_index("lot_id")
    assert 20 < len(lots) < 0.5 * len(all_lots["lots"])
    others = all_lots["lots"].set_index("lot_id").loc[lots.index]
    named = [column for column in lots.columns if column not in AMONG_ALL]
    pd.testing.assert_frame_equal(pd.DataFrame(lots[named]), pd.DataFrame(others[named]), check_exact=True)
    for name in ("candidates", "roof_shares", "reasons"):
        of_part = all_lots[name][all_lots[name]["lot_id"].isin(lots.index)].reset_index(drop=True)
        plain = [pd.DataFrame(one.drop(columns="geometry", errors="ignore")) for one in (mine[name], of_part)]
        if name == "candidates":  # of two ways out of a hollow, equally low, the whole may take the other
            plain = [one[one["chosen"]].reset_index(drop=True) for one in plain]
        pd.testing.assert_frame_equal(*plain, check_exact=True, obj=name)
