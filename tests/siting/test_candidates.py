"""What holds of every candidate, whatever the lot."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from screening.area import Block
from screening.fields.id_lists import ids_of
from screening.rules import Rules
from screening.siting import ground, judge, search
from screening.siting.candidates import search_lots_of
from screening.siting.search_world import search_world
from screening.soils import candidate_soils
from tests.siting.lots import make_block

EVERYWHERE = ({"geometry": box(-300, -300, 600, 600), "hsg": "B"},)


@st.composite
def lots(draw):
    """A lot of any size with a house somewhere on it, a shed, paving or a tree, on any plane, turned."""
    wide, deep = draw(st.integers(12, 30)), draw(st.integers(24, 44))
    house_wide, house_deep = draw(st.integers(6, wide - 4)), draw(st.integers(6, 14))
    west, south = draw(st.integers(2, wide - house_wide - 2)), draw(st.integers(4, deep - house_deep - 4))
    layers = {}
    if draw(st.booleans()):
        x = draw(st.integers(0, wide - 3))
        layers["paved"] = ({"geometry": box(x, 0, x + 3, south), "kind": "drive"},)
    if draw(st.booleans()):
        point = shapely.Point(draw(st.integers(0, wide)), draw(st.integers(0, deep)))
        layers["trees"] = ({"geometry": point, "trunk_m": 0.3},)
    roofs = [{"geometry": box(west, south, west + house_wide, south + house_deep), "kind": "house"}]
    if draw(st.booleans()):
        roofs.append({"geometry": box(1, 1, 3, 4), "kind": "shed"})
    return {
        "plane": (draw(st.integers(-8, 8)) / 100, draw(st.integers(-8, 8)) / 100),
        "lots": [box(0, 0, wide, deep)],
        "roofs": roofs,
        "streets": [shapely.LineString([(-60, 0), (90, 0)])],
        "turn_deg": draw(st.integers(0, 359)),
        "noise_m": draw(st.sampled_from([0.0, 0.03])),
        "margin_m": 8.0,
        "soils": EVERYWHERE,
        **layers,
    }


def searched(rules=None, **arguments):
    block, context = make_block(rules=rules, **arguments)
    mask, tables = ground(block, context)
    block = block.with_tables(tables)
    found = search(block, context, mask)
    return block.with_tables(found), context, mask


def feasible(rules=None, **arguments):
    """Whether the lot is not ruled out by its ground."""
    block, context, _ = searched(rules, **arguments)
    block = block.with_tables(candidate_soils(block, context))
    reasons = judge(block, context)["reasons"]
    return not (reasons["severity"] == "rules out").any()


@given(lots())
@settings(max_examples=30, deadline=None)
def test_footprints_keep_every_clearance_and_leads_every_wall(arguments):
    block, context, mask = searched(**arguments)
    candidates, leads = block.tables["candidates"], block.tables["leads"]
    if not len(candidates):
        return
    lot = block.lots.geometry.iloc[0]
    footprints = shapely.buffer(candidates.geometry.to_numpy(), context.rules.berm_ring_m)
    assert shapely.contains(lot, footprints).all()
    closed = mask.obstacles[mask.obstacles["effect"] == "no digging"]
    for thing, clearance in zip(closed.geometry, closed["clearance_m"], strict=True):
        away = shapely.distance(candidates.geometry.to_numpy(), thing)
        assert (away >= context.rules.berm_ring_m + clearance - 0.01).all()
    inner = shapely.buffer(block.layers["roofs"].geometry.to_numpy(), -context.rules.roof_overhang_m - 0.01)
    for wall in inner:
        assert not shapely.intersects(leads.geometry.to_numpy(), wall).any()
    assert not shapely.crosses(leads.geometry.to_numpy(), lot.boundary).any()


@given(lots())
@settings(max_examples=30, deadline=None)
def test_levels_are_in_order(arguments):
    block, context, _ = searched(**arguments)
    candidates, leads = block.tables["candidates"], block.tables["leads"]
    rows = candidates[candidates["class_code"] < 2]
    assert (rows["lip_low_m"] <= rows["lip_m"] + 1e-3).all()
    assert (rows["lip_m"] <= rows["lip_high_m"] + 1e-3).all()
    assert (rows["berm_m"] <= context.rules.berm_height_most_m + 0.011).all()
    assert (rows["cut_m"] <= context.rules.cut_most_m + 0.011).all()
    met = candidates.loc[candidates["class_code"] == 0, ["lot_id", "candidate"]].merge(
        leads, on=["lot_id", "candidate"]
    )
    assert (met["fall_m"] >= met["fall_needed_m"] - 2e-3).all()


@given(lots())
@settings(max_examples=20, deadline=None)
def test_gardens_hold_what_they_are_led(arguments):
    block, context, _ = searched(**arguments)
    rows = block.tables["candidates"]
    rules = context.rules
    assert (rows["ponding_area_m2"] <= rows["room_m2"] + 0.11).all()
    assert (rows["ponding_area_m2"] >= rules.ponding_area_least_m2 - 0.06).all()
    held = rows[rows["eligible"]]
    assert (held["capture_depth_mm"] >= rules.capture_depth_least_mm - 0.1).all()
    assert (held["draining_area_m2"] <= rules.draining_area_most_m2).all()
    assert (rows["run_m"] <= rules.run_limit_m + 0.01).all()


TIGHTER = {
    "house_setback_m": 4.5,
    "side_line_setback_m": 2.5,
    "street_line_setback_m": 2.0,
    "paving_setback_m": 1.5,
    "slope_limit_pct": 5.0,
    "run_limit_m": 12.0,
    "run_per_roof_m_per_m2": 0.3,
    "lead_grade_pct": 2.0,
    "freeboard_lead_m": 0.1,
    "ponding_area_least_m2": 4.0,
    "width_least_m": 1.6,
    "draining_area_most_m2": 60.0,
    "cut_most_m": 0.1,
    "berm_height_most_m": 0.15,
    "tree_trunk_radius_x": 16.0,
}


@given(lots(), st.sampled_from(sorted(TIGHTER)))
@settings(max_examples=50, deadline=None)
def test_tighter_limits_never_add_a_lot(arguments, name):
    if feasible(Rules(**{name: TIGHTER[name]}), **arguments):
        assert feasible(**arguments), name


@given(lots(), st.sampled_from([15.0, 25.0, 30.0]))
@settings(max_examples=25, deadline=None)
def test_a_smaller_capture_depth_never_loses_a_lot(arguments, depth_mm):
    if feasible(**arguments):
        assert feasible(Rules(capture_depth_mm=depth_mm, capture_depth_least_mm=depth_mm), **arguments)


def street(number, shift):
    """So many standard lots side by side, on a plane with noise."""
    return {
        "plane": (0.01, 0.03),
        "lots": [{"geometry": box(22 * k, 0, 22 * k + 22, 40), "lot_id": f"lot {k}"} for k in range(number)],
        "roofs": [{"geometry": box(22 * k + 4, 11 + k % 3, 22 * k + 16, 22), "kind": "house"} for k in range(number)],
        "streets": [shapely.LineString([(-60, 0), (200, 0)])],
        "noise_m": 0.03,
        "shift_m": shift,
        "soils": EVERYWHERE,
    }


@pytest.mark.parametrize("shift", [(0.0, 0.0), (4650000.3, 500000.7)])
def test_nothing_depends_on_the_lots_that_share_the_block(shift):
    together, _, _ = searched(**street(4, shift))
    for k in range(4):
        alone, _, _ = searched(**street(4, shift), own=[f"lot {k}"])
        for name in ("candidates", "leads", "overflow_paths"):
            mine = together.tables[name].query(f"lot_id == 'lot {k}'").reset_index(drop=True)
            assert len(mine) == len(alone.tables[name])
            assert mine.drop(columns="geometry").equals(alone.tables[name].drop(columns="geometry"))
            assert shapely.equals_exact(mine.geometry.to_numpy(), alone.tables[name].geometry.to_numpy()).all()


def test_the_stage_changes_nothing_it_was_given():
    block, context = make_block(**street(2, (0.0, 0.0)))
    mask, tables = ground(block, context)
    block = block.with_tables(tables)
    before = {name: table.copy() for name, table in block.tables.items()}
    bits, heights = mask.bits.copy(), block.rasters["heights_m"].copy()
    search(block, context, mask)
    assert (mask.bits == bits).all()
    assert (block.rasters["heights_m"] == heights).all()
    for name, table in before.items():
        assert table.equals(block.tables[name])


def test_threads_change_nothing():
    block, context = make_block(**street(4, (0.0, 0.0)))
    mask, tables = ground(block, context)
    world = search_world(block.with_tables(tables), context, mask)
    one, two = (search_lots_of(world, 4, threads=threads) for threads in (1, 2))
    assert np.array_equal(one.numbers, two.numbers, equal_nan=True)
    assert (one.slots == two.slots).all()


def test_a_lot_without_a_roof_and_a_block_without_candidates():
    block, context, _ = searched(plane=(0.0, 0.03), lots=[box(0, 0, 20, 40)], soils=EVERYWHERE)
    assert isinstance(block, Block)
    assert len(block.tables["candidates"]) == 0
    assert block.tables["searched"]["spouts"].tolist() == [0]
    block = block.with_tables(candidate_soils(block, context))
    reasons = judge(block, context)["reasons"]
    assert reasons.loc[reasons["severity"] == "rules out", "code"].tolist() == ["no_roof"]


@given(lots())
@settings(max_examples=20, deadline=None)
def test_two_gardens_lie_apart_and_share_no_downspout(arguments):
    rules = Rules(gardens_most=2)
    block, context, _ = searched(rules, **arguments)
    block = block.with_tables(candidate_soils(block, context))
    rows = judge(block, context)["candidates"]
    spot, second = rows[rows["chosen"]], rows[rows["second"]]
    assert len(second) <= len(spot) <= 1
    if len(second):
        footprints = [shapely.buffer(row.geometry.iloc[0], rules.berm_ring_m) for row in (spot, second)]
        assert shapely.area(shapely.intersection(*footprints)) < 0.02
        assert not set(ids_of(spot["downspout_ids"].iloc[0])) & set(ids_of(second["downspout_ids"].iloc[0]))


@pytest.mark.parametrize(("kind", "consent"), [("service", False), ("main", True), (None, True)])
def test_a_lead_across_a_service_is_told_and_across_a_main_needs_consent(kind, consent):
    """The line runs along the front, between house and garden; what nobody knows the kind of counts as a main."""
    block, context, _ = searched(
        plane=(0.0, 0.03), lots=[box(0, 0, 20, 40)], soils=EVERYWHERE,
        roofs=[{"geometry": box(4, 22, 16, 32), "kind": "house"}],
        streets=[shapely.LineString([(-60, 0), (90, 0)])],
        buried=[{"geometry": shapely.LineString([(-5, 18), (25, 18)]), "kind": kind}],
    )  # fmt: skip
    rows = block.tables["candidates"]
    below = rows[rows["y_m"] < 17.0]
    assert len(below)
    assert (below["crosses_service"] == (not consent)).all()
    assert (below["crosses_easement"] == consent).all()
    block = block.with_tables(candidate_soils(block, context))
    codes = set(judge(block, context)["reasons"]["code"])
    assert ("service" in codes, "consent" in codes) == (not consent, consent)


def test_ids_of_downspouts_may_hold_spaces_and_a_flat_roofs_share_may_be_nothing():
    block, _, _ = searched(
        plane=(0.0, 0.03), lots=[box(0, 0, 20, 40)], soils=EVERYWHERE,
        roofs=[{"geometry": box(4, 12, 16, 22), "kind": "house"}],
        streets=[shapely.LineString([(-60, 0), (90, 0)])],
        downspouts=[
            {"geometry": shapely.Point(x, 12), "downspout_id": f"front {x}", "share_m2": 30.0, "share_low_m2": 0.0}
            for x in (4, 16)
        ],
    )  # fmt: skip
    rows, spouts = block.tables["candidates"], set(block.tables["downspouts"]["downspout_id"])
    assert len(rows)
    for text in rows["downspout_ids"]:
        assert ids_of(text)
        assert set(ids_of(text)) <= spouts
    assert rows["capture_most_mm"].isna().all()


def test_a_second_garden_only_where_the_rules_allow_two():
    arguments = {
        "plane": (0.06, 0.0), "lots": [box(0, 0, 40, 40)], "soils": EVERYWHERE,
        "roofs": [{"geometry": box(22, 12, 34, 28), "kind": "house"}],
        "streets": [shapely.LineString([(-60, 0), (90, 0)])],
    }  # fmt: skip
    for allowed, count in ((1, 0), (2, 1)):
        block, context, _ = searched(Rules(gardens_most=allowed, draining_area_most_m2=60.0), **arguments)
        block = block.with_tables(candidate_soils(block, context))
        rows = judge(block, context)["candidates"]
        assert rows["chosen"].sum() == 1
        assert rows["second"].sum() == count
