import numpy as np
import pandas as pd
from shapely import Point, box

from screening.siting.drain_reach import drain_reach
from screening.siting.lot_inlets import lot_inlets
from tests.siting.lots import make_block, standard_lot

FRONT_AND_BACK = [Point(10, -3), Point(10, 43)]


def ridge(_x, y):
    """A ridge through the house: its front sheds to the street, its back away from it."""
    return -0.04 * abs(y - 17.0)


def found(**arguments):
    block, context = make_block(**{**standard_lot(), "margin_m": 12.0, **arguments})
    spouts = drain_reach(block, context)
    return spouts, lot_inlets(block, context, spouts)


def valley(x, y):
    """The same, with a gutter along each end that falls to the middle."""
    return ridge(x, y) + 0.03 * abs(x - 10.0)


def test_front_and_back_of_a_roof_may_run_to_two_inlets():
    spouts, lots = found(ground=valley, inlets=FRONT_AND_BACK)
    by_y = spouts.assign(y=[point.y for point in spouts.geometry]).groupby("y")["inlet"].agg(set)
    assert by_y[12.0] == {"i0"}
    assert by_y[22.0] == {"i1"}
    assert lots.tolist() == ["i0"]  # of equals the first by its id


def test_the_larger_share_decides_for_the_lot():
    block, context = make_block(**standard_lot(), margin_m=12.0, ground=valley, inlets=FRONT_AND_BACK)
    spouts = drain_reach(block, context)
    back = np.array([point.y > 17.0 for point in spouts.geometry])
    spouts["share_m2"] = np.where(back, 40.0, 20.0)
    assert lot_inlets(block, context, spouts).tolist() == ["i1"]


def test_water_that_meets_no_inlet_has_none():
    spouts, lots = found(plane=(0, 0.03), inlets=[Point(10, 50)])
    assert spouts["inlet"].isna().all()
    assert lots.tolist() == [None]
    assert found(plane=(0, 0.03))[1].tolist() == [None]


def test_a_lot_without_a_roof_goes_where_its_ground_sheds():
    block, context = make_block(lots=[box(0, 0, 20, 40)], margin_m=12.0, ground=valley, inlets=FRONT_AND_BACK)
    none = pd.DataFrame({"lot_id": [], "share_m2": pd.Series(dtype=float), "inlet": []})
    assert lot_inlets(block, context, none).tolist() == ["i1"]
