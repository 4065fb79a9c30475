import pytest
from shapely import box

from screening.siting.setback_buildings import basements, garages, houses, roof_kinds, sheds
from tests.siting.lots import make_block, standard_lot

ROOFS = [box(4, 12, 16, 22), box(1, 30, 6, 36), box(15, 34, 18, 37)]


def test_each_kind_of_building_has_its_setback():
    block, context = make_block(**{**standard_lot(), "roofs": ROOFS})
    assert roof_kinds(block.layers, context.rules).tolist() == ["house", "garage", "shed"]
    assert houses(block, context)["clearance_m"].tolist() == [3.0]
    assert garages(block, context)["clearance_m"].tolist() == [1.5]
    assert sheds(block, context)["clearance_m"].tolist() == [1.0]


def test_a_kind_that_is_given_beats_the_guess():
    roofs = [{"geometry": ROOFS[0], "kind": "garage"}, {"geometry": ROOFS[1], "kind": "house"}, ROOFS[2]]
    block, context = make_block(**{**standard_lot(), "roofs": roofs})
    assert roof_kinds(block.layers, context.rules).tolist() == ["garage", "house", "shed"]


def test_the_kind_of_a_neighbours_roof_does_not_hang_on_its_block():
    lots = [box(0, 0, 20, 40), box(20, 0, 40, 40)]
    roofs = [*ROOFS, box(24, 12, 36, 22), box(22, 30, 28, 36)]
    for own in (["A"], ["B"], ["A", "B"]):
        block, context = make_block(lots=lots, roofs=roofs, own=own)
        kinds = roof_kinds(block.layers, context.rules).tolist()
        assert kinds == ["house", "garage", "shed", "house", "garage"]


@pytest.mark.parametrize(("rise", "uphill_y"), [(0.04, 27.0), (-0.04, 7.0)])
def test_a_basement_asks_for_more_only_where_the_garden_would_be_uphill(rise, uphill_y):
    roofs = [{"geometry": ROOFS[0], "kind": "house", "basement": True}]
    block, context = make_block(plane=(0.0, rise), **{**standard_lot(), "roofs": roofs})
    zone = basements(block, context).union_all()
    assert zone.buffer(0.01).contains(box(9, uphill_y, 11, uphill_y + 0.5))
    other = 34.0 - uphill_y
    assert not zone.intersects(box(9, other - 0.5, 11, other + 0.5))
    assert zone.bounds[1] > 5.9
    assert zone.bounds[3] < 28.1


def test_a_basement_nobody_knows_of_asks_for_nothing_more():
    block, context = make_block(plane=(0.0, 0.04), **standard_lot())
    assert len(basements(block, context)) == 0
