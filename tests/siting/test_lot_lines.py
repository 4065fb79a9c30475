import numpy as np
import pytest
import shapely
from shapely import LineString, box

from screening.siting.lot_lines import lot_lines
from tests.siting.lots import make_block, standard_lot


def faced(**arguments):
    """Length of each lot's edges that face each street."""
    lines = lot_lines(make_block(**arguments)[0])
    length = np.hypot(*(lines.end - lines.start).T)
    pairs = {(int(lot), int(street)) for lot, street in zip(lines.lot, lines.street, strict=True) if street >= 0}
    return {pair: float(length[(lines.lot == pair[0]) & (lines.street == pair[1])].sum()) for pair in sorted(pairs)}


@pytest.mark.parametrize("turn_deg", [0.0, 33.0])
def test_edges_tile_the_lots_outline(turn_deg):
    lines = lot_lines(make_block(turn_deg=turn_deg, **standard_lot())[0])
    assert np.hypot(*(lines.end - lines.start).T).sum() == pytest.approx(120.0)
    assert set(lines.lot) == {0}
    assert (lines.street >= 0).sum() == 1


def test_a_wide_right_of_way_is_measured_by_the_nearest_edge():
    corner = {
        "lots": [box(0, 0, 25, 30)],
        "streets": [LineString([(-40, -9), (80, -9)]), LineString([(36, -40), (36, 90)])],
    }
    assert faced(**corner) == pytest.approx({(0, 0): 25.0, (0, 1): 30.0})


def test_a_far_street_is_not_faced_by_a_lot_with_a_near_one():
    through = {
        "lots": [box(0, 0, 20, 40)],
        "streets": [LineString([(-40, 0), (60, 0)]), LineString([(-40, 52), (60, 52)])],
    }
    assert faced(**through) == pytest.approx({(0, 0): 20.0})


def test_a_street_across_another_lot_is_not_faced():
    rows = {"lots": [box(0, 0, 20, 40), box(0, 40, 20, 50)], "streets": [LineString([(-40, 54), (60, 54)])]}
    assert faced(**rows) == pytest.approx({(1, 0): 20.0})


def test_a_bent_street_is_faced_all_along():
    lot = shapely.Polygon([(0, 0), (12, 0), (24, 5), (24, 40), (0, 40)])
    street = LineString([(-30, -4), (12.5, -4), (50, 11.6)])
    found = faced(lots=[lot], streets=[street])
    assert found[(0, 0)] == pytest.approx(25.0, abs=0.1)
