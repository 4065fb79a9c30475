import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box

from screening.siting import setback_layers as layers
from tests.siting.lots import make_block, standard_lot


def rows(function, plane=(0.0, 0.0), **given):
    return function(*make_block(plane=plane, **standard_lot(**given)))


@pytest.mark.parametrize(
    ("function", "layer", "things", "clearance"),
    [
        (layers.paving, "paved", [box(0, 0, 3, 10)], [0.6]),
        (layers.inlets, "inlets", [Point(0, 0)], [1.5]),
        (layers.water, "water", [LineString([(0, 0), (9, 9)])], [7.5]),
        (layers.wells, "wells", [Point(1, 1), {"geometry": Point(2, 2), "clearance_m": 30.0}], [15.0, 30.0]),
        (layers.septic_any, "septic", [box(0, 0, 3, 3)], [7.5]),
        (layers.easements, "easements", [box(0, 0, 3, 3), LineString([(0, 0), (1, 1)])], [0.0, 1.5]),
        (layers.trunks, "trees", [{"geometry": Point(5, 5), "trunk_m": 0.5}, Point(9, 9)], [6.0]),
    ],
)
def test_clearances_are_the_rules_unless_given(function, layer, things, clearance):
    assert rows(function, **{layer: things})["clearance_m"].tolist() == pytest.approx(clearance)


@pytest.mark.parametrize("function", [getattr(layers, name) for name in layers.__all__])
def test_a_layer_that_was_not_given_takes_nothing(function):
    found = rows(function)
    assert len(found) == 0
    assert {"lot", "clearance_m", "detail", "geometry"} <= set(found.columns)


def test_buried_lines_by_kind_and_an_unknown_kind_is_read_as_a_main():
    line = LineString([(0, 5), (20, 5)])
    buried = [{"geometry": line, "kind": "main"}, {"geometry": line, "kind": "service"}, line]
    assert rows(layers.mains, buried=buried)["clearance_m"].tolist() == [1.5, 1.5]
    assert rows(layers.services, buried=buried)["clearance_m"].tolist() == [0.6]


def test_a_crown_by_its_radius_its_outline_or_the_least():
    trees = [
        {"geometry": Point(5, 5), "crown_m": 4.0},
        {"geometry": Point(5, 5), "crown_m": 1.0},
        Point(5, 5),
        Point(5, 5).buffer(5.0),
        Point(5, 5).buffer(1.0),
        {"geometry": Point(5, 5), "trunk_m": 0.4, "crown_m": 6.0},
    ]
    assert rows(layers.crowns, trees=trees)["clearance_m"].tolist() == pytest.approx(
        [
            4,
            3,
            3,
            0,
            2,
        ],
        abs=0.01,
    )


def test_septic_uphill_is_above_the_field_and_within_its_reach():
    field = box(5, 40, 19, 52)
    block, context = make_block(plane=(0.0, -0.04), lots=[box(0, 0, 24, 60)], septic=[field])
    zone = layers.septic_uphill(block, context).union_all()
    assert zone.bounds[1] == pytest.approx(25.0, abs=0.01)
    assert zone.bounds[3] <= 47.0
    assert shapely.distance(zone, Point(12, 30)) == 0


def test_septic_ground_that_nobody_measured_counts_as_uphill():
    def unmeasured(_x, y):
        return np.where(y > 54.0, np.nan, 0.0)

    block, context = make_block(
        plane=(0.0, -0.04), lots=[box(0, 0, 24, 60)], septic=[box(5, 40, 19, 52)], ground=unmeasured
    )
    zone = layers.septic_uphill(block, context).union_all()
    assert zone.contains(Point(12, 58))
    assert zone.contains(Point(12, 30))
    assert not zone.contains(Point(12, 53))


def test_avoid_by_kind_effect_and_sentence():
    avoid = [
        {"geometry": box(0, 0, 1, 1), "kind": "wall", "height_m": 3.0},
        {"geometry": box(0, 0, 1, 1), "kind": "wall"},
        {"geometry": box(0, 0, 1, 1), "kind": "pool", "name": "Pool"},
        {"geometry": box(0, 0, 1, 1), "name": "Flood zone", "sentence": "In the flood zone.", "clearance_m": 2.0},
        {"geometry": box(0, 0, 1, 1), "name": "Old fill", "effect": "look closer"},
    ]
    assert rows(layers.retaining_walls, avoid=avoid)["clearance_m"].tolist() == [4.5, 3.0]
    assert rows(layers.pools, avoid=avoid)["clearance_m"].tolist() == [3.0]
    flood = rows(layers.avoid, avoid=avoid)
    assert (flood["clearance_m"].tolist(), flood["detail"].tolist()) == ([2.0], ["In the flood zone."])
    fill = rows(layers.avoid_look, avoid=avoid)
    assert (fill["clearance_m"].tolist(), fill["detail"].tolist()) == ([0.0], ["Old fill"])


def test_a_septic_field_whose_level_nobody_measured_has_all_ground_uphill():
    def unmeasured(_x, y):
        return np.where(y > 36.0, np.nan, 0.0)

    block, context = make_block(
        plane=(0.0, 0.04), lots=[box(0, 0, 24, 60)], septic=[box(5, 40, 19, 52)], ground=unmeasured
    )
    assert layers.septic_uphill(block, context).union_all().contains(Point(12, 30))
