from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from screening.errors import BadInput
from screening.outputs.sheets import sheet_lots, write_sheets
from screening.outputs.sheets.gather import gather
from screening.outputs.sheets.numbers import bill_pairs, garden_pairs, sizing_pairs
from screening.result import Screening
from tests.outputs.made_up import make_screening


def _pages(path: Path) -> int:
    return len(re.findall(rb"/Type /Page\b(?!s)", path.read_bytes()))


def test_one_page_a_lot_for_the_visits_in_visit_order(made_up: Screening, tmp_path: Path) -> None:
    few = replace(made_up, rules=made_up.rules.model_copy(update={"visits": 7}))
    lots = sheet_lots(few)
    ranks = made_up.tables["lots"].set_index("lot_id").loc[lots, "rank"]
    assert sorted(ranks) == list(range(1, 8))
    path, problems = write_sheets(few, tmp_path / "a.pdf")
    assert _pages(path) == 7
    assert problems == []


def test_any_lot_on_request_the_ruled_out_too(made_up: Screening, tmp_path: Path) -> None:
    path, _ = write_sheets(made_up, tmp_path / "a.pdf", ["L00004", "L00006", "L00000"], "us")
    assert _pages(path) == 3


def test_a_lot_that_is_not_there_is_named(made_up: Screening, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no lot 'L9'"):
        write_sheets(made_up, tmp_path / "a.pdf", ["L00004", "L9"])
    assert not (tmp_path / "a.pdf").exists()


def test_equal_results_give_equal_bytes(made_up: Screening, tmp_path: Path) -> None:
    one, _ = write_sheets(made_up, tmp_path / "a.pdf")
    two, _ = write_sheets(make_screening(), tmp_path / "b.pdf")
    assert one.read_bytes() == two.read_bytes()


def test_names_that_the_font_lacks_give_way_to_the_id_and_are_told(made_up: Screening, tmp_path: Path) -> None:
    lots = made_up.tables["lots"].copy()
    lots["address"] = ["東京", "شارع 5", "{{7*7}} <b>", "É" * 200, None] * 6
    result = replace(made_up, tables={**made_up.tables, "lots": lots}, title="東京")
    path, problems = write_sheets(result, tmp_path / "a.pdf", list(lots["lot_id"]))
    assert _pages(path) == 30
    assert [row["feature"] for row in problems] == lots.loc[lots["address"] == "東京", "lot_id"].tolist()
    assert problems[0]["problem"] == "letters that the sheet's font lacks"


def test_a_document_without_lots_still_opens(made_up: Screening, tmp_path: Path) -> None:
    path, _ = write_sheets(made_up, tmp_path / "a.pdf", [])
    assert _pages(path) == 1


def test_the_font_is_in_the_document(made_up: Screening, tmp_path: Path) -> None:
    path, _ = write_sheets(made_up, tmp_path / "a.pdf", ["L00000"])
    assert b"/FontFile2" in path.read_bytes()


def test_numbers_are_the_tables_numbers(made_up: Screening) -> None:
    (own,), _ = gather(made_up, ["L00000"])
    pairs = dict(garden_pairs(own.lot, own.spot_leads, made_up.rules, "metric"))
    lot = made_up.tables["lots"].iloc[0]
    assert pairs["Ponding area"] == f"{lot['ponding_area_m2']:.1f} m²"
    assert pairs["Fall; needed"] == "0.20 m; 0.14 m"
    assert pairs["Kept in a mean year"] == ""
    assert "Lawn runs on, in that storm" not in pairs
    asked = made_up.rules.model_copy(update={"run_on": True})
    own.lot.storm_run_on_m3 = 0.46
    lawn = dict(garden_pairs(own.lot, own.spot_leads, asked, "metric"))
    assert lawn["Lawn runs on, in that storm"] == "0.46 m³"
    us = dict(garden_pairs(own.lot, own.spot_leads, made_up.rules, "us"))
    assert us["Holds, of rain"] == "1.5 in"
    assert us["Fall; needed"] == "0.66 ft; 0.46 ft"
    assert us["Drains to it"] == f"{lot['draining_area_m2'] / 0.09290304:,.0f} sq ft"


def test_every_kind_of_lead_is_told(made_up: Screening) -> None:
    (own,), _ = gather(made_up, ["L00000"])
    pairs = dict(garden_pairs(own.lot, own.spot_leads, made_up.rules, "metric"))
    assert (pairs["Leads"], pairs["The longest"]) == ("over the ground", "9.2 m")
    own.spot_leads[0].lead = own.lot.lead = "shallow"
    assert dict(garden_pairs(own.lot, own.spot_leads, made_up.rules, "us"))["Leads"] == "over the ground, shallow pipe"
    one = dict(garden_pairs(own.lot, own.spot_leads[:1], made_up.rules, "us"))
    assert (one["Lead"], one["Its length"]) == ("shallow pipe", "30.2 ft")


def test_levels_count_from_the_lip(made_up: Screening) -> None:
    (own,), _ = gather(made_up, ["L00000"])
    pairs = dict(sizing_pairs(own.spot, made_up.rules, "metric"))
    assert pairs["Overflow lip: the datum"] == "0"
    assert pairs["Berm crest"] == "+50 mm"
    assert pairs["Top of the mulch"] == "−150 mm"
    assert pairs["Top of the mix"] == "−225 mm"
    assert pairs["Bottom of the hole"] == "−525 mm"
    assert pairs["Ground at the middle"] == "−20 mm"
    assert pairs["Long and across"] == "4.51 m × 2.26 m"


def test_the_bill_comes_from_the_spots_levels(made_up: Screening) -> None:
    (own, out), _ = gather(made_up, ["L00000", "L00004"])
    assert own.bill["mix_m3"] == pytest.approx(8.0 * 0.3)
    assert dict(bill_pairs(own.bill, "metric"))["Mulch"] == "0.60 m³"
    assert dict(bill_pairs(own.bill, "us"))["Mulch"] == "0.8 cu yd"
    assert out.spot is None
    assert bill_pairs(out.bill, "metric") == []
