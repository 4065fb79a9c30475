import numpy as np
import pytest
from shapely import Polygon, affinity, box

from screening.roofs.footprints import Footprints
from screening.roofs.kinds import find_kinds
from screening.roofs.pieces import cut_by_lots
from screening.roofs.walls import find_walls
from screening.rules import Rules
from tests.roofs.conftest import lot_table, roof_table


def walls(lots, roofs, gables=False):
    """Middles of gables and of party walls, by piece."""
    roof_rows, lot_rows = roof_table(*roofs), lot_table(*lots)
    pieces, _ = cut_by_lots(roof_rows, lot_rows)
    feet = Footprints.from_polygons(pieces.geometry.to_numpy())
    kinds = find_kinds(roof_rows, Rules(roof_kind="gable" if gables else "hip"), None, np.arange(len(roofs)))
    found = find_walls(
        feet,
        pieces["roof"].to_numpy(),
        pieces["whole"].to_numpy(),
        lot_rows.geometry.to_numpy()[pieces["lot"].to_numpy()],
        roof_rows.geometry.to_numpy(),
        kinds.feet,
        kinds.part_of,
        kinds.gable,
    )
    middles = np.round(0.5 * (feet.xy_m + feet.xy_m[feet.ends]), 3)
    out = {}
    for name, flags in (("gable", found.gable), ("party", found.party)):
        for e in np.flatnonzero(flags):
            piece = pieces["piece_id"][feet.piece_of_edge[e]]
            out.setdefault(piece, {}).setdefault(name, set()).add(tuple(middles[e].tolist()))
    assert np.array_equal(found.speed == 0, found.gable | found.party)
    return out


def test_a_twin_has_a_party_wall_on_the_line_and_a_gable_at_its_end():
    found = walls([box(0, 0, 9, 35), box(9, 0, 18, 35)], [box(3, 10, 15, 19)], gables=True)
    assert found == {
        "R0/L0": {"gable": {(3, 14.5)}, "party": {(9, 14.5)}},
        "R0/L1": {"gable": {(15, 14.5)}, "party": {(9, 14.5)}},
    }


def test_gables_are_those_of_the_whole_roof():
    """Each half is deeper than wide, and still the short sides of the whole are the gables."""
    found = walls([box(0, 0, 9, 35), box(9, 0, 18, 35)], [box(3, 10, 15, 20)], gables=True)
    assert found["R0/L0"] == {"gable": {(3, 15)}, "party": {(9, 15)}}
    assert found["R0/L1"] == {"gable": {(15, 15)}, "party": {(9, 15)}}


def test_a_row_of_houses():
    lots = [box(6 * i, 0, 6 * i + 6, 30) for i in range(3)]
    found = walls(lots, [box(0, 5, 18, 14)], gables=True)
    assert found["R0/L1"] == {"party": {(12, 9.5), (6, 9.5)}}
    assert found["R0/L0"] == {"gable": {(0, 9.5)}, "party": {(6, 9.5)}}


def test_an_eave_over_the_line_is_no_party_wall():
    lots = [box(0, 0, 10, 30), box(10, 0, 20, 30)]
    assert walls(lots, [box(2, 5, 10.4, 12)]) == {}


def test_a_gable_over_the_line_is_still_a_gable():
    lots = [box(0, 0, 10, 30), box(10, 0, 20, 30)]
    found = walls(lots, [box(2, 5, 10.4, 10)], gables=True)
    assert found["R0/L0"]["gable"] == {(2, 7.5), (10, 7.5)}
    assert "party" not in found["R0/L0"]


def test_houses_drawn_apart_that_touch_on_the_line_share_a_wall():
    lots = [box(0, 0, 10, 30), box(10, 0, 20, 30)]
    found = walls(lots, [box(2, 5, 10, 12), box(10, 5, 18, 12)])
    assert found == {"R0/L0": {"party": {(10, 8.5)}}, "R1/L1": {"party": {(10, 8.5)}}}
    assert walls(lots, [box(2, 5, 9.6, 12), box(10, 5, 18, 12)]) == {}


def test_a_garage_that_leans_on_its_house_has_a_wall_there_and_the_house_drips():
    """28 m2 beside 70 m2: the lower roof has no gutter along the wall, the higher one keeps its eave."""
    assert walls([box(0, 0, 20, 30)], [box(0, 5, 10, 12), box(10, 5, 14, 12)]) == {"R1/L0": {"party": {(10, 8.5)}}}
    assert walls([box(0, 0, 20, 30)], [box(0, 5, 10, 12), box(10.1, 5, 14, 12)]) == {}


def test_a_house_drawn_as_two_roofs_that_touch_has_no_eaves_between_them():
    found = walls([box(0, 0, 30, 30)], [box(2, 5, 10, 12), box(10, 5, 16, 12)])
    assert found == {"R0/L0": {"party": {(10, 8.5)}}, "R1/L0": {"party": {(10, 8.5)}}}
    assert walls([box(0, 0, 30, 30)], [box(2, 5, 10, 12), box(10.1, 5, 16, 12)]) == {}


def test_an_edge_that_another_roof_touches_in_part_still_drips():
    """The wing takes 6 m of the house's 16 m: the wing has a wall there, the house's side beside it keeps its eave."""
    found = walls([box(0, 0, 30, 30)], [box(2, 5, 18, 12), box(7, 12, 13, 22)])
    assert found == {"R1/L0": {"party": {(10, 12)}}}


def test_a_side_that_two_roofs_touch_together_has_no_eave():
    found = walls([box(0, 0, 30, 30)], [box(2, 5, 16, 12), box(2, 12, 9, 19), box(9, 12, 16, 19)])
    assert found["R0/L0"] == {"party": {(9, 12)}}
    assert found["R1/L0"] == {"party": {(5.5, 12), (9, 15.5)}}


def test_a_roof_that_goes_on_beyond_all_lots_is_cut_by_a_wall():
    assert walls([box(0, 0, 10, 30)], [box(2, 5, 16, 12)]) == {"R0/L0": {"party": {(10, 8.5)}}}


def test_a_slanted_line_cuts_a_party_wall():
    lots = [Polygon([(0, 0), (8, 0), (12, 30), (0, 30)]), Polygon([(8, 0), (30, 0), (30, 30), (12, 30)])]
    found = walls(lots, [box(3, 5, 17, 14)])
    assert {piece: len(kinds["party"]) for piece, kinds in found.items()} == {"R0/L0": 1, "R0/L1": 1}


@pytest.mark.parametrize("angle", [12.0, 133.0])
def test_turned_twins(angle):
    def turn(shape):
        return affinity.rotate(shape, angle, origin=(0, 0))

    found = walls([turn(box(0, 0, 9, 35)), turn(box(9, 0, 18, 35))], [turn(box(3, 10, 15, 19))], gables=True)
    assert {piece: {k: len(v) for k, v in kinds.items()} for piece, kinds in found.items()} == {
        "R0/L0": {"gable": 1, "party": 1},
        "R0/L1": {"gable": 1, "party": 1},
    }
