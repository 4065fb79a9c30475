import numpy as np
import pytest
from shapely import Point, box

from screening.siting import drain_reach as module
from screening.siting.drain_reach import downspout_ground, drain_reach, lot_reach, reach_over_lawn
from screening.siting.kernels import drain
from tests.siting.lots import make_block, standard_lot

WIDE = {**standard_lot(), "lots": [box(0, 0, 60, 120)], "roofs": [{"geometry": box(24, 60, 36, 72), "kind": "house"}]}


def reach(**arguments):
    block, context = make_block(**arguments)
    spouts = drain_reach(block, context)
    return spouts, lot_reach(block, spouts).iloc[0]


def piped(leads_to="pipe"):
    return [{"geometry": Point(x, y), "leads_to": leads_to} for x, y in ((4, 12), (16, 12), (4, 22), (16, 22))]


def test_sixty_metres_of_grass_leave_nearly_nothing_and_a_pipe_everything():
    _, lawn = reach(plane=(0, 0.04), **WIDE)
    _, pipe = reach(plane=(0, 0.03), downspouts=piped(), **standard_lot())
    assert lawn["drain_reach_share"] < 0.03
    assert lawn["drain_reach_basis"] == "traced"
    assert (pipe["drain_reach_share"], pipe["drain_reach_basis"]) == (1.0, "given")


@pytest.mark.parametrize(("leads_to", "share"), [("street", 1.0), ("drive", 1.0), ("lawn", None)])
def test_where_a_downspout_leads_counts(leads_to, share):
    spouts, _ = reach(plane=(0, 0.03), downspouts=piped(leads_to), **standard_lot())
    if share is None:
        assert (spouts["reach_share"] < 0.6).all()
        assert set(spouts["reach_basis"]) == {"traced"}
    else:
        assert spouts["reach_share"].tolist() == [share] * 4


def test_each_metre_of_lawn_takes_its_share():
    spouts, _ = reach(plane=(0, 0.03), **standard_lot())
    by_y = spouts.assign(y=[point.y for point in spouts.geometry]).groupby("y")["reach_share"].mean()
    assert by_y[12.0] == pytest.approx(np.exp(-11.0 / 15.0), abs=0.06)
    assert by_y[22.0] < by_y[12.0]
    assert reach_over_lawn(np.array([0.0, 15.0]), 15.0) == pytest.approx([1.0, np.exp(-1)])


def test_a_drive_below_the_downspout_carries_its_water_to_the_drain():
    drive = [{"geometry": box(2, 0, 6, 10), "kind": "drive"}]
    spouts, _ = reach(plane=(0, 0.03), paved=drive, **standard_lot())
    assert spouts.loc[spouts.geometry.x == 4, "reach_share"].max() > 0.85
    patio = [{"geometry": box(2, 4, 6, 10), "kind": "patio"}]
    crossed, _ = reach(plane=(0, 0.03), paved=patio, **standard_lot())
    lawn, _ = reach(plane=(0, 0.03), **standard_lot())
    assert lawn["reach_share"].max() < crossed["reach_share"].max() < 0.85


def test_without_streets_the_way_to_ground_in_no_lot_is_a_guess():
    lot = {key: value for key, value in standard_lot().items() if key != "streets"}
    _, row = reach(plane=(0, 0.03), **lot)
    assert row["drain_reach_basis"] == "guessed"
    assert 0.2 < row["drain_reach_share"] < 0.6


def test_a_lot_without_downspouts_has_no_reach():
    _, row = reach(plane=(0, 0.03), lots=[box(0, 0, 20, 40)])
    assert np.isnan(row["drain_reach_share"])
    assert row["drain_reach_basis"] is None


def test_the_lots_reach_is_weighted_by_share_and_as_sure_as_the_least_sure():
    spouts = [
        {"geometry": Point(4, 12), "leads_to": "pipe", "share_m2": 90.0},
        {"geometry": Point(16, 12), "share_m2": 30.0},
    ]
    found, row = reach(plane=(0, 0.03), downspouts=spouts, **standard_lot())
    traced = found["reach_share"].iloc[1]
    assert row["drain_reach_share"] == pytest.approx(0.75 + 0.25 * traced)
    assert row["drain_reach_basis"] == "traced"


@pytest.mark.parametrize("turn_deg", [0.0, 17.0, 62.0])
def test_ground_at_a_downspout_is_that_of_the_plane(turn_deg):
    block, _ = make_block(plane=(0.02, 0.03), turn_deg=turn_deg, **standard_lot())
    spouts = block.tables["downspouts"].geometry
    found = downspout_ground(block, spouts.x.to_numpy(), spouts.y.to_numpy())
    turn = np.radians(-turn_deg)
    x = np.cos(turn) * spouts.x - np.sin(turn) * spouts.y
    y = np.sin(turn) * spouts.x + np.cos(turn) * spouts.y
    assert found == pytest.approx((100 + 0.02 * x + 0.03 * y).to_numpy(), abs=1e-6)


def test_what_stands_at_the_wall_is_not_read():
    def bed(x, y):
        return np.where((x > 2.9) & (x < 17.1) & (y > 10.9) & (y < 23.1), 0.5, 0.0)

    block, _ = make_block(plane=(0.0, 0.03), ground=bed, **standard_lot())
    assert downspout_ground(block, np.array([4.0]), np.array([12.0]))[0] == pytest.approx(100.36, abs=0.01)


def test_ground_that_nobody_measured_is_missing():
    block, _ = make_block(plane=(0.0, 0.03), ground=lambda x, _y: np.where(x > 0, np.nan, 0.0), **standard_lot())
    assert np.isnan(downspout_ground(block, np.array([16.0]), np.array([12.0]))[0])


def test_compiled_and_plain_agree(monkeypatch):
    lot = {"plane": (0.01, 0.02), "noise_m": 0.05, "paved": [box(2, 0, 6, 10)], **standard_lot()}
    fast, _ = reach(**lot)
    monkeypatch.setattr(module, "cross_lawn", drain.cross_lawn.py_func)
    monkeypatch.setattr(module, "plane_heights", drain.plane_heights.py_func)
    plain, _ = reach(**lot)
    assert plain["ground_m"].to_numpy() == pytest.approx(fast["ground_m"].to_numpy(), abs=1e-12)
    assert plain["reach_share"].tolist() == fast["reach_share"].tolist()
