import numpy as np
import pytest
import shapely
from shapely import LineString, box

from screening.siting.frontage import frontage
from tests.siting.lots import make_block, placed, standard_lot

FLAG = shapely.union(box(0, 0, 5, 40), box(0, 40, 30, 75))
SOUTH = {"geometry": LineString([(-50, 0), (80, 0)]), "street": "South Row"}
NORTH = {"geometry": LineString([(-50, 87), (80, 87)]), "street": "North Row"}


def street(**arguments):
    return frontage(make_block(**arguments)[0]).street.tolist()


def sides(places, turn_deg=0.0, **arguments):
    block, _ = make_block(turn_deg=turn_deg, **arguments)
    x, y = shapely.get_coordinates(placed(shapely.points(np.array(places, dtype=float)), turn_deg)).T
    return frontage(block).side(np.zeros(len(x), dtype=np.int64), x, y).tolist()


@pytest.mark.parametrize("turn_deg", [0.0, 40.0, 160.0])
def test_front_side_and_back_of_a_plain_lot(turn_deg):
    places = [(10, 5), (10, 11), (2, 17), (18, 20), (10, 30)]
    assert sides(places, turn_deg, **standard_lot()) == ["front", "front", "side", "side", "back"]


def test_a_flag_lots_street_is_its_poles_and_not_the_nearer_one_behind():
    lot = {"lots": [FLAG], "roofs": [box(9, 50, 21, 60), box(9, 93, 21, 103)], "streets": [NORTH, SOUTH]}
    assert street(**lot) == ["South Row"]
    assert sides([(15, 66), (15, 45), (4, 20)], **lot) == ["back", "front", "front"]


def test_a_corner_lot_has_the_street_of_its_shorter_front_and_two_fronts():
    lot = {
        "lots": [box(0, 0, 25, 30)],
        "roofs": [box(6, 12, 18, 22)],
        "streets": [
            {"geometry": LineString([(-50, 0), (80, 0)]), "street": "South Row"},
            {"geometry": LineString([(25, -50), (25, 80)]), "street": "East Row"},
        ],
    }
    assert street(**lot) == ["South Row"]
    assert sides([(10, 5), (22, 17), (10, 27), (2, 17)], **lot) == ["front", "front", "back", "side"]


def test_the_street_that_is_given_wins():
    lot = {"geometry": box(0, 0, 25, 30), "street": "Old Lane"}
    assert street(lots=[lot], streets=[SOUTH]) == ["Old Lane"]


def test_a_lot_off_the_street_reaches_it_over_ground_in_no_other_lot():
    lots = [box(0, 20, 20, 60), box(0, 62, 20, 100)]
    assert street(lots=lots, streets=[SOUTH], roofs=[box(4, 30, 16, 40)]) == ["South Row", None]


def test_the_nearest_street_across_a_neighbour_is_not_the_lots():
    lots = [box(0, 12, 20, 60), box(0, 62, 20, 80)]
    assert street(lots=lots, streets=[SOUTH, NORTH], roofs=[box(4, 70, 16, 78)])[0] == "South Row"


def test_without_streets_or_a_house_nothing_is_claimed():
    lot = {key: value for key, value in standard_lot().items() if key != "streets"}
    assert street(**lot) == [None]
    assert sides([(10, 5)], **lot) == [None]
    assert sides([(10, 5)], lots=[box(0, 0, 20, 40)], streets=[SOUTH]) == [None]
