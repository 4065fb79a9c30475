"""Rules of single lots through the whole way: the lot is judged by its own, every other lot as before."""

import numpy as np
import pandas as pd
import pytest

from screening import Rules
from screening.pipeline import screen
from tests.pipeline.conftest import made_up_area

OWN = {
    "001": {"house_setback_m": 4.5, "slope_limit_pct": 14.0},
    "003": {"capture_depth_mm": 25.0, "capture_depth_least_mm": 25.0, "bed_depth_mm": 200.0},
    "006": {"side_line_setback_m": 12.0},
}


@pytest.fixture(scope="module")
def own():
    return screen(made_up_area(), own_rules=OWN)


def plain(table, lots, column="lot_id"):
    kept = pd.DataFrame(table)[table[column].isin(lots)].drop(columns="geometry", errors="ignore")
    return kept.reset_index(drop=True)


@pytest.mark.parametrize(
    "name", ["candidates", "leads", "roof_shares", "downspouts", "taken", "open_ground", "reasons"]
)
def test_lots_without_rules_of_their_own_are_judged_as_before(result, own, name):
    others = sorted(set(result.lots["lot_id"]) - set(OWN))
    kept = [plain(tables[name], others) for tables in (result.tables, own.tables)]
    if name == "reasons":  # chances to be among the first depend on every lot; what stands behind a verdict does not
        kept = [table[table["severity"] != "note"].reset_index(drop=True) for table in kept]
    pd.testing.assert_frame_equal(*kept)


@pytest.mark.parametrize("lot", OWN)
def test_a_lot_is_judged_as_if_its_rules_were_the_areas(area, own, lot):
    alone = screen(area, Rules(**OWN[lot]))
    for name in ("candidates", "leads", "taken", "roof_shares"):
        pd.testing.assert_frame_equal(plain(own.tables[name], [lot]), plain(alone.tables[name], [lot]))
    columns = ["verdict", "deciding_limit", "ponding_area_m2", "capture_depth_mm", "storm_captured_m3", "eligible"]
    pd.testing.assert_frame_equal(plain(own.lots, [lot])[columns], plain(alone.lots, [lot])[columns])


def test_chances_go_by_the_lots_own_limits(area, own):
    """Room, size and slope limits of the lot, not the area's, decide what is feasible in each draw."""
    for lot, given in OWN.items():
        alone = screen(area, Rules(**given)).lots.set_index("lot_id").loc[lot, "chance_feasible"]
        assert own.lots.set_index("lot_id").loc[lot, "chance_feasible"] == alone


def test_the_garden_of_a_lot_has_the_size_of_its_rules(own):
    """38 mm on the others; 25 mm here on a bed of 200 mm: Rv x depth x area / (ponding + voids x bed)."""
    spots = own.tables["candidates"][own.tables["candidates"]["chosen"]].set_index("lot_id")
    for lot, depth, bed in (("003", 25.0, 200.0), ("002", 38.0, 300.0)):
        expected = 0.95 * depth * spots.loc[lot, "draining_area_m2"] / (150.0 + 0.4 * bed)
        assert spots.loc[lot, "needed_m2"] == pytest.approx(expected, abs=0.006)


def test_the_result_tells_which_lots_have_rules_of_their_own(own):
    told = own.lots.set_index("lot_id")["own_rules"]
    assert told.loc["001"] == "house_setback_m 4.5; slope_limit_pct 14"
    assert told.isna().sum() == 6
    reasons = own.tables["reasons"]
    assert reasons.loc[reasons["code"] == "own_rules", "lot_id"].tolist() == sorted(OWN)
    assert own.record["rules_by_lot"] == {lot: OWN[lot] for lot in sorted(OWN)}
    assert own.rules_of("006") == Rules(side_line_setback_m=12.0)
    assert own.rules_of("000") == Rules()


def test_the_answer_with_rules_by_lot_does_not_depend_on_the_blocks(area, own):
    again = screen(area, own_rules=OWN, lots_per_block=2)
    for name, table in own.tables.items():
        frames = [pd.DataFrame(t.drop(columns="geometry", errors="ignore")) for t in (table, again.tables[name])]
        pd.testing.assert_frame_equal(*frames)


def test_side_lines_of_twelve_metres_leave_no_ground(own):
    lot = own.lots.set_index("lot_id").loc["006"]
    assert lot["verdict"] == "ruled out"
    assert np.isclose(float(lot["open_ground_m2"]), 0.0)
