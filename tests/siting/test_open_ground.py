import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box

from screening.siting import open_ground as module
from screening.siting.kernels import tally
from screening.siting.open_ground import finer_mask, ground_mask, open_ground
from tests.siting.lots import make_block, standard_lot


def ground(**arguments):
    block, context = make_block(**arguments)
    mask = ground_mask(block, context)
    return mask, open_ground(block, mask)


def bounds(tables, lot_id="A"):
    table = tables["open_ground"]
    parts = shapely.get_parts(table[table["lot_id"] == lot_id].geometry.to_numpy())
    return sorted(tuple(part.bounds) for part in parts)


def taken(tables, constraint):
    table = tables["taken"].set_index("constraint")
    return float(table.loc[constraint, "area_m2"]) if constraint in table.index else 0.0


def closed_by(mask, x, y):
    column = int((x - mask.transform.c) / mask.transform.a)
    row = int((y - mask.transform.f) / mask.transform.e)
    return {c.name for c in mask.constraints if mask.bits[row, column] >> c.bit & 1}


def test_a_plain_lot_keeps_what_the_setbacks_leave():
    _, tables = ground(plane=(0.0, 0.03), **standard_lot())
    assert bounds(tables) == [(1.5, 1.0, 18.5, 10.0), (1.5, 24.0, 18.5, 38.5)] or bounds(tables)[0][3] <= 9.5
    front, rear = bounds(tables)
    assert front[1] == pytest.approx(1.0, abs=0.5)
    assert rear[3] == pytest.approx(38.5, abs=0.5)


def test_septic_field_keeps_twice_as_far_uphill_as_downhill():
    mask, tables = ground(
        plane=(0.0, -0.04), lots=[box(0, 0, 24, 60)], roofs=[box(6, 20, 18, 30)], septic=[box(5, 40, 19, 52)]
    )
    assert bounds(tables) == [(1.5, 1.5, 22.5, 25.0)]
    assert "septic field, downhill" in closed_by(mask, 12, 26)
    assert closed_by(mask, 12, 58.2) == {"septic field"}


def test_the_pole_of_a_flag_lot_is_no_open_ground():
    lot = shapely.union(box(0, 0, 5, 40), box(0, 40, 30, 75))
    mask, tables = ground(plane=(0.0, -0.04), lots=[lot], roofs=[box(9, 50, 21, 60)])
    assert "narrow part of the lot" in closed_by(mask, 2.5, 20)
    assert min(bound[1] for bound in bounds(tables)) >= 39.5


def test_a_trunk_forbids_and_a_crown_asks_to_look():
    known, _ = ground(trees=[{"geometry": Point(10, 31), "trunk_m": 0.8}], **standard_lot())
    crown, _ = ground(trees=[{"geometry": Point(10, 31), "crown_m": 5.0}], **standard_lot())
    assert "tree, trunk known" in closed_by(known, 10, 38)
    assert "tree, crown only" in closed_by(crown, 10, 35.5)
    assert "tree, crown only" not in closed_by(crown, 10, 36.5)
    assert crown.open_cells().sum() > known.open_cells().sum()


def test_nothing_around_changes_a_lot_when_its_neighbours_join_the_block():
    things = {
        "plane": (0.01, 0.03),
        "lots": [box(0, 0, 20, 40), box(20, 0, 40, 40)],
        "roofs": [box(4, 12, 16, 22), box(24, 12, 39, 22)],
        "streets": [LineString([(-40, 0), (60, 0)])],
    }
    alone, _ = make_block(own=["A"], **things)
    both, _ = make_block(**things)
    _, context = make_block(**things)
    one, two = ground_mask(alone, context), ground_mask(both, context)
    assert ((one.lot == 0) == (two.lot == 0)).all()
    assert (one.bits[one.lot == 0] == two.bits[two.lot == 0]).all()


def test_ground_that_two_lots_claim_is_open_to_neither():
    lots = [box(0, 0, 20, 40), box(17, 0, 40, 40)]
    mask, tables = ground(lots=lots)
    assert "another lot" in closed_by(mask, 18.2, 20)
    assert taken(tables, "another lot") > 50
    assert set(mask.obstacles.loc[mask.obstacles["constraint"] == "another lot", "lot"]) == {0, 1}


def test_finer_cells_agree_where_they_cover_the_same_ground():
    block, context = make_block(plane=(0.0, 0.03), turn_deg=20, **standard_lot())
    mask = ground_mask(block, context)
    fine = finer_mask(block, mask, 0)
    coarse_area = mask.open_cells().sum() * mask.transform.a**2
    fine_area = fine.open_cells().sum() * fine.transform.a**2
    assert fine.transform.a == mask.transform.a / 2
    assert fine_area == pytest.approx(coarse_area, rel=0.08)
    assert set(np.unique(fine.lot)) == {-1, 0}


def test_what_is_taken_is_counted_whole_and_alone():
    _, tables = ground(plane=(0.0, 0.03), paved=[box(0, 0, 20, 1)], **standard_lot())
    rows = tables["taken"].set_index("constraint")
    assert rows.loc["paving", "area_m2"] == pytest.approx(20 * 1.5)
    # the street line's metre lies under the paving, which alone takes the half metre beyond, between the side lines
    assert rows.loc["street line", "alone_m2"] == 0
    assert rows.loc["paving", "alone_m2"] == pytest.approx(17 * 0.5)


def test_compiled_and_plain_agree(monkeypatch):
    block, context = make_block(plane=(0.0, 0.03), trees=[Point(10, 30)], **standard_lot())
    mask = ground_mask(block, context)
    fast = open_ground(block, mask)
    monkeypatch.setattr(module, "tally_bits", tally.tally_bits.py_func)
    plain = open_ground(block, mask)
    assert plain["taken"].equals(fast["taken"])
    assert plain["open_ground"]["area_m2"].tolist() == fast["open_ground"]["area_m2"].tolist()
