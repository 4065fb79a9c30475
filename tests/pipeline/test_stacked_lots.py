"""Lots stacked on one place, as condominiums are: one garden, its water once, and every id in the results."""

import csv
import json

import geopandas as gpd
import pandas as pd
import pytest
from click.testing import CliRunner

from screening.cli import screening as command
from screening.outputs import write_outputs
from screening.outputs.extras import Extras
from screening.outputs.map.shell import map_page
from screening.pipeline import screen
from screening.ranking.changed_rules import rejudged
from tests.pipeline.conftest import made_up_area

STACKED = {"002-B": 2, "002-A": 2, "0": 5}
"""Two further lots on the place of 002; and 005 behind a lot whose id comes first, which so stands for the place."""
FIRST = {"002-A": "002", "002-B": "002", "005": "0"}
OF_FIRST = ["rank", "rank_low", "rank_high", "storm_runoff_m3", "storm_captured_m3", "storm_kept_m3"]


@pytest.fixture(scope="module")
def stacked():
    return screen(made_up_area(stacked=STACKED))


@pytest.fixture(scope="module")
def folder(stacked, tmp_path_factory):
    out = tmp_path_factory.mktemp("stacked")
    write_outputs(stacked, out, extras=Extras(sheets_for=("002-B", "0")))
    return out


def test_every_id_is_a_row_in_order(stacked):
    assert stacked.lots["lot_id"].tolist() == sorted([*(f"{n:03d}" for n in range(9)), *STACKED])
    assert stacked.places["lot_id"].tolist() == ["0", *(f"{n:03d}" for n in range(9) if n != 5)]
    shared = stacked.lots.set_index("lot_id")["shared_with"].dropna()
    assert shared.to_dict() == {"002": "002-A, 002-B", "0": "005"}


def test_a_place_is_judged_as_if_nothing_were_stacked_on_it(result, stacked):
    alone = pd.DataFrame(result.lots).replace({"lot_id": {"005": "0"}}).set_index("lot_id")
    places = pd.DataFrame(stacked.places).set_index("lot_id").loc[alone.index]
    same = ["verdict", "score", "rank", "ponding_area_m2", "open_ground_m2", "assessed_share", "storm_kept_m3"]
    pd.testing.assert_frame_equal(places[same], alone[same])
    assert places["address"].dropna().to_dict() == {"002": "002-A Made-up Street", "0": "0 Made-up Street"}


def test_further_lots_have_the_verdict_but_neither_rank_nor_water(stacked):
    lots = stacked.lots.set_index("lot_id")
    for further, first in FIRST.items():
        assert lots.loc[further, "place"] == first
        for column in ("verdict", "next_step", "score", "reasons", "ponding_area_m2", "lot_area_m2"):
            assert lots.loc[further, column] == lots.loc[first, column]
        assert lots.loc[[further], OF_FIRST].isna().all(axis=None)
    assert not lots.loc[["002", "0"], OF_FIRST].isna().any(axis=None)
    said = "Lots share this place (002, 002-A, 002-B); its water is counted once."
    assert lots.loc["002", "reasons"].count(said) == 1
    assert lots.loc["002-B", "address"] == "002-B Made-up Street"


def test_streets_count_a_place_once(result, stacked):
    columns = ["lots", "feasible", "roof_area_m2", "storm_runoff_m3", "storm_kept_m3"]
    pd.testing.assert_frame_equal(stacked.tables["streets"][columns], result.tables["streets"][columns])


def test_lists_and_map_have_a_row_a_place_and_layers_one_a_lot(stacked, folder):
    written = gpd.read_file(folder / "lots.gpkg", layer="lots")
    assert written["lot_id"].tolist() == stacked.lots["lot_id"].tolist()
    listed = []
    for name in ("approach.csv", "ruled_out.csv"):
        with (folder / name).open(encoding="utf-8", newline="") as file:
            listed += [row["lot_id"] for row in csv.DictReader(file)]
    assert sorted(set(listed)) == stacked.places["lot_id"].tolist()
    counts = json.loads((folder / "run.json").read_text(encoding="utf-8"))["counts"]
    assert (counts["lots"], counts["places"], counts["layers"]["lots"]) == (12, 9, 12)


def test_a_further_lot_is_told_of_by_the_one_that_stands_for_it(folder):
    told = CliRunner().invoke(command, ["lot", str(folder), "002-B"])
    alone = CliRunner().invoke(command, ["lot", str(folder), "002"])
    assert told.exit_code == alone.exit_code == 0
    head, rest = told.stdout.split("\n", 1)
    assert head == "Lot 002-B lies on the place of lot 002, which stands for it:"
    assert rest == alone.stdout


def test_a_pick_takes_a_place_once(folder):
    told = CliRunner().invoke(command, ["pick", str(folder), "--visits", "12"])
    assert told.exit_code == 0, told.output
    assert not any(further in told.stdout for further in ("(lot 002-A)", "(lot 002-B)", "(lot 005)"))


def test_a_map_asked_for_by_itself_shows_places(stacked):
    assert map_page(stacked) == map_page(stacked.by_place())


def test_lots_judged_anew_are_those_that_stand_for_a_place(stacked):
    anew = rejudged(stacked.tables, stacked.rules, stacked.rules)["lots"]
    columns = ["lot_id", "verdict", "score", "rank", "storm_kept_m3"]
    pd.testing.assert_frame_equal(pd.DataFrame(anew[columns]), pd.DataFrame(stacked.places[columns]))


def test_a_sheet_asked_for_is_that_of_the_place(folder):
    pages = (folder / "sheets.pdf").read_bytes().count(b"/Type /Page\n")
    assert pages == 2
