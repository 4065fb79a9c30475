"""Lots stacked on one place: what the first of them takes from those behind it."""

from dataclasses import replace

import pandas as pd

from screening.places import first_ids, first_lots, one_lot_a_place, with_further_lots
from tests.pipeline.conftest import made_up_area


def test_without_stacks_nothing_is_copied():
    area = made_up_area()
    assert one_lot_a_place(area)[0] is area
    lots = area.layers["lots"]
    assert first_lots(lots) is lots
    assert with_further_lots(lots, lots) is lots
    assert first_ids(lots) == {f"{n:03d}": f"{n:03d}" for n in range(9)}


def test_the_first_lot_takes_what_it_lacks():
    area = made_up_area(stacked={"004-B": 4, "004-A": 4, "0": 6})
    lots = area.layers["lots"].set_index("lot_id", drop=False)
    lots.loc["004-A", "address"] = None
    lots.loc[["004-B", "0", "006"], "zone"] = ["north", "south", "west"]
    area = replace(area, layers={**area.layers, "lots": lots.reset_index(drop=True)})
    kept = one_lot_a_place(area)[0].layers["lots"].set_index("lot_id")
    assert kept.index.tolist() == ["0", *(f"{n:03d}" for n in range(9) if n != 6)]
    assert kept.loc["004", ["address", "zone", "shared_with"]].tolist() == [
        "004-B Made-up Street", "north", "004-A, 004-B",
    ]  # fmt: skip
    assert kept.loc["0", ["address", "zone", "shared_with"]].tolist() == ["0 Made-up Street", "south", "006"]
    assert kept["shared_with"].notna().sum() == 2


def test_field_results_and_rules_go_to_the_lot_that_stands_for_the_place():
    results = pd.DataFrame({"lot_id": ["004-B", "001", "elsewhere"], "what": ["call"] * 3})
    area = replace(made_up_area(stacked={"004-B": 4, "004-A": 4, "007-A": 7}), field_results=results)
    rules = {
        "004-B": {"run_limit_m": 11.0},
        "004-A": {"run_limit_m": 12.0},
        "007-A": {"run_limit_m": 13.0},
        "007": {"run_limit_m": 14.0},
    }
    area, rules = one_lot_a_place(area, rules)
    assert area.field_results["lot_id"].tolist() == ["004", "001", "elsewhere"]
    assert rules == {"007": {"run_limit_m": 14.0}, "004": {"run_limit_m": 12.0}}


def test_a_lot_whose_first_is_not_here_stands_for_itself():
    lots = pd.DataFrame({"lot_id": ["b", "c", "d"], "place": ["a", "c", "c"]})
    assert first_lots(lots)["lot_id"].tolist() == ["b", "c"]
    assert first_lots(lots[:2])["lot_id"].tolist() == ["b", "c"]


def test_a_lot_behind_one_whose_id_comes_later_lends_what_that_lacks_and_no_more():
    area = made_up_area()
    lots = area.layers["lots"].copy()
    lots["place"] = lots["place"].replace("003", "004")
    lots["address"] = [None, None, None, "3 Made-up Street", "4 Made-up Street", None, None, None, None]
    lots["zone"] = [None, None, None, "north", None, None, None, None, None]
    kept = one_lot_a_place(replace(area, layers={**area.layers, "lots": lots}))[0].layers["lots"].set_index("lot_id")
    assert "003" not in kept.index
    assert kept.loc["004", ["address", "zone", "shared_with"]].tolist() == ["4 Made-up Street", "north", "003"]
