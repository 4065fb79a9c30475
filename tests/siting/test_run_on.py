"""Ground that drains into a garden over its lip, on made-up lots."""

import numpy as np
import pytest
from shapely import box

from screening.rules import Rules
from screening.siting import judge
from screening.siting.soil_limits import run_on, run_on_unknown
from screening.siting.spot_limits import FINE, NOTE
from screening.soils import candidate_soils
from tests.siting.test_candidates import EVERYWHERE, searched

ASKED = Rules(run_on=True)
HOUSE = {"geometry": box(5, 26, 15, 34), "kind": "house"}
LOT = {"lots": [box(0, 0, 20, 44)], "roofs": [HOUSE], "soils": EVERYWHERE, "margin_m": 60.0}


def ridge(y_of_ridge):
    """Ground that falls both ways from a line across, so that nothing comes in from beyond the data."""
    return lambda x, y: -0.04 * np.abs(y - y_of_ridge) - 0.001 * np.abs(x - 10.0)


def candidates(rules=ASKED, **arguments):
    block, context, _ = searched(rules, **{**LOT, **arguments})
    return block.with_tables(candidate_soils(block, context)), context


def test_nothing_is_told_where_the_rules_do_not_ask():
    block, _ = candidates(Rules(), ground=ridge(44.0))
    assert "upslope_unknown" not in block.rasters
    assert len(block.tables["candidates"]) > 2
    assert block.tables["candidates"]["run_on_m2"].isna().all()


def test_ground_uphill_runs_on_without_the_roofs():
    """Straight below the house only the ground between house and garden runs on; past its corners all up to the ridge.

    A garden of 5.3 m2 with its ring is 4.9 m by 3.1 m; around (9.25, 20.75) its upper edge is 3.7 m from the house, its
    lower one 6.8 m. With the house's roof, 8 m deep, at least 30 m2 would be added.
    """
    block, _ = candidates(ground=ridge(44.0))
    table = block.tables["candidates"]
    behind = (table["x_m"] > 7.0) & (table["x_m"] < 13.0) & (table["y_m"] == 20.75)
    assert behind.sum() >= 2
    assert (table["run_on_m2"][behind] >= 4 * 3.7).all()
    assert (table["run_on_m2"][behind] <= 5 * 6.8).all()
    beside = (table["x_m"] < 5.0) | (table["x_m"] > 15.0)
    assert beside.sum() >= 2
    # at least three columns of ground from the garden's lower edge at most up to the ridge 20 m above it
    assert (table["run_on_m2"][beside] > 3 * 20.0).all()
    assert (table["run_on_m2"][beside] < 6 * 26.0).all()


def test_ground_beyond_a_divide_does_not_run_on():
    """A ridge 4 m above the gardens instead of 23: no more than that strip comes in."""
    near = candidates(ground=ridge(25.0), roofs=[{"geometry": box(5, 26, 15, 34), "kind": "house"}])[0]
    table = near.tables["candidates"]
    below = table[table["y_m"] < 23.0]
    assert len(below) > 1
    assert below["run_on_m2"].notna().all()
    assert (below["run_on_m2"] <= 6 * (25.0 - (below["y_m"] - 1.6))).all()


def test_a_slope_from_beyond_the_data_is_not_known():
    """Behind the house, which holds off what comes from uphill, it is known; past its corners it is not."""
    block, _ = candidates(plane=(0.0, 0.04))
    table = block.tables["candidates"]
    behind = (table["x_m"] > 7.5) & (table["x_m"] < 12.5)
    assert behind.sum() >= 2
    assert (~behind).sum() >= 2
    assert table["run_on_m2"][behind & (table["y_m"] == 20.75)].notna().all()
    assert table["run_on_m2"][(table["x_m"] < 5.0) | (table["x_m"] > 15.0)].isna().all()


def test_the_reasons_say_how_much_and_as_what():
    block, context = candidates(ground=ridge(44.0))
    table = block.tables["candidates"].copy()
    table["run_on_m2"] = [12.0, 0.0, np.nan, *[0.0] * (len(table) - 3)]
    table["hsg"] = ["unknown", *["B"] * (len(table) - 1)]
    found = run_on(table, ASKED)
    assert found.severity.tolist()[:3] == [NOTE, FINE, FINE]
    assert np.asarray(found.detail)[:2].tolist() == ["lawn of group D, as the group is not known", "lawn of group B"]
    assert run_on_unknown(table, ASKED).severity.tolist()[:3] == [FINE, FINE, NOTE]
    for limit in (run_on, run_on_unknown):
        assert not limit(table, Rules()).severity.any()
    judged = judge(block, context)
    told = judged["reasons"][judged["reasons"]["code"] == "run_on"]
    spot = judged["candidates"][judged["candidates"]["chosen"]]
    assert told["measured"].tolist() == spot["run_on_m2"].tolist()
    assert told[["severity", "detail"]].to_numpy().tolist() == [["note", "lawn of group B"]]


@pytest.mark.parametrize("turn_deg", [0, 33])
def test_gardens_and_verdicts_are_those_without(turn_deg):
    """Sizes and places stay with the roof's water: only what is told beside them differs."""
    without, before = candidates(Rules(), ground=ridge(44.0), turn_deg=turn_deg)
    asked, after = candidates(ground=ridge(44.0), turn_deg=turn_deg)
    one, other = judge(without, before), judge(asked, after)
    told = [name for name in one["candidates"].columns if name not in ("run_on_m2", "geometry")]
    assert one["candidates"][told].equals(other["candidates"][told])
    weighty = other["reasons"][~other["reasons"]["code"].str.startswith("run_on")].reset_index(drop=True)
    assert one["reasons"].equals(weighty)
