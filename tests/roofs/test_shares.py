"""The roofs stage from plain tables: what each downspout gets, worked by hand."""

import numpy as np
import pytest
import shapely
from geopandas.testing import assert_geodataframe_equal
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import CRS
from shapely import Polygon, affinity, box

from screening.area import AreaContext, Block
from screening.fields import TABLES, conform
from screening.roofs import roof_shares, share_roofs
from screening.rules import Rules
from tests.roofs.conftest import lot_table, roof_table, spout_table
from tests.roofs.made_up import FAMILIES, polygons

LOT = box(0, 0, 20, 40)
HOUSE = box(4, 12, 16, 22)
COURT_HOUSE = box(7, 12, 23, 28).difference(box(12, 17, 18, 23))
BIG_LOT = box(-100, -100, 200, 200)


def at(tables):
    """Downspouts by place: share, low, high."""
    rows = tables.downspouts
    values = rows[["share_m2", "share_low_m2", "share_high_m2"]].round(6).to_numpy().tolist()
    return {(round(p.x, 3), round(p.y, 3)): tuple(v) for p, v in zip(rows.geometry, values, strict=True)}


def assert_sound(tables):
    """Shares of each piece add up to it, do not overlap, and agree with the downspouts."""
    shared = tables.pieces[tables.pieces["shared"]].set_index("piece_id")
    sums = tables.shares.groupby("piece_id")["area_m2"].sum()
    np.testing.assert_allclose(sums[shared.index], shared["area_m2"], rtol=1e-9)
    assert shapely.is_valid(tables.shares.geometry.to_numpy()).all()
    np.testing.assert_allclose(tables.shares.geometry.area, tables.shares["area_m2"], rtol=1e-6, atol=1e-6)
    led = tables.shares.dropna(subset="downspout_id").set_index("downspout_id")["area_m2"]
    spouts = tables.downspouts.set_index("downspout_id")
    np.testing.assert_allclose(led.reindex(spouts.index).fillna(0.0), spouts["share_m2"], rtol=1e-9)
    for piece_id, shares in tables.shares.groupby("piece_id"):
        covered = shapely.union_all(shares.geometry.to_numpy()).area
        assert covered == pytest.approx(shared.loc[piece_id, "area_m2"], rel=1e-6)
    low, share, high = (spouts[name].to_numpy() for name in ("share_low_m2", "share_m2", "share_high_m2"))
    assert (low <= share + 1e-9).all()
    assert (share <= high + 1e-9).all()
    np.testing.assert_allclose(np.hypot(spouts["normal_x"], spouts["normal_y"]), 1.0)


def test_a_hip_house_has_four_corner_downspouts_of_a_quarter_each(share):
    tables = share(LOT, HOUSE)
    assert at(tables) == dict.fromkeys([(4, 12), (16, 12), (16, 22), (4, 22)], (30, 0, 60))
    assert list(tables.downspouts["downspout_id"]) == ["R0/L0/a", "R0/L0/b", "R0/L0/c", "R0/L0/d"]
    np.testing.assert_allclose(tables.downspouts["normal_x"] * np.sqrt(2), [-1, 1, 1, -1])
    np.testing.assert_allclose(tables.downspouts["normal_y"] * np.sqrt(2), [-1, -1, 1, 1])
    assert tables.downspouts["worth_leading"].all()
    assert tables.downspouts["placed"].all()
    assert_sound(tables)


def test_a_narrow_house(share):
    """10 x 14: four corners of 35 m2."""
    downspouts = at(share(box(0, 0, 14, 28), box(2, 8, 12, 22)))
    assert {place: share for place, (share, _, _) in downspouts.items()} == dict.fromkeys(
        [(2, 8), (12, 8), (12, 22), (2, 22)], 35
    )


def test_a_twin_stops_at_its_party_wall(share):
    tables = share([box(0, 0, 9, 35), box(9, 0, 18, 35)], roof_table(box(3, 10, 15, 19), roof_kind=["gable"]))
    assert at(tables) == dict.fromkeys([(3, 10), (3, 19), (15, 10), (15, 19)], (27, 27, 27))
    assert tables.shares.geometry[tables.shares["lot_id"] == "L0"].bounds["maxx"].max() == 9
    assert_sound(tables)


def test_an_inner_court_is_not_led(share):
    tables = share(box(0, 0, 30, 40), COURT_HOUSE)
    assert set(at(tables).values()) == {(33.75, 16.875, 50.625)}
    inner = tables.shares[tables.shares["downspout_id"].isna()]
    assert inner["area_m2"].to_list() == pytest.approx([85])
    assert inner.geometry.iloc[0].interiors[0].bounds == (12, 17, 18, 23)
    assert_sound(tables)


def test_the_inside_corner_of_an_l_has_no_downspout(share):
    tables = share(BIG_LOT, Polygon([(0, 0), (12, 0), (12, 6), (4, 6), (4, 10), (0, 10)]))
    """Eaves by hand: S 27, E 9, inner S 23, inner E 8, top 4, W 17; the two inner ones share one gutter."""
    assert {place: share for place, (share, _, _) in at(tables).items()} == {
        (0, 0): 27 / 2 + 17 / 2,
        (12, 0): 27 / 2 + 9 / 2,
        (12, 6): 9 / 2 + (23 + 8) / 2,
        (4, 10): (23 + 8) / 2 + 4 / 2,
        (0, 10): 4 / 2 + 17 / 2,
    }
    assert_sound(tables)


@pytest.mark.parametrize(
    ("shape", "corners"),
    [
        ([(0, 0), (12, 0), (12, 4), (8, 4), (8, 10), (4, 10), (4, 4), (0, 4)], 6),
        ([(0, 0), (12, 0), (12, 10), (8, 10), (8, 4), (4, 4), (4, 10), (0, 10)], 6),
        ([(0, 0), (6, 0), (6, 0.3), (12, 0.3), (12, 8), (0, 8)], 4),
        ([(0, 0), (5, 0), (5, -0.8), (7, -0.8), (7, 0), (12, 0), (12, 8), (0, 8)], 4),
        ([(0, 0), (11.2, 0), (12, 0.8), (12, 8), (0, 8)], 4),
    ],
    ids=["T", "U", "jog", "bay", "chamfer"],
)
def test_downspouts_stand_at_corners_a_builder_would_use(share, shape, corners):
    tables = share(BIG_LOT, Polygon(shape))
    assert len(tables.downspouts) == corners
    assert_sound(tables)


def test_a_round_roof_has_downspouts_too(share):
    tables = share(BIG_LOT, shapely.Point(0, 0).buffer(6, quad_segs=8))
    assert len(tables.downspouts) >= 1
    assert tables.downspouts["share_m2"].sum() == pytest.approx(tables.pieces["area_m2"][0])


def test_gables_carry_no_gutter(share):
    tables = share(BIG_LOT, roof_table(box(0, 0, 10, 6), roof_kind=["gable"]))
    assert at(tables) == dict.fromkeys([(0, 0), (10, 0), (10, 6), (0, 6)], (15, 0, 30))
    assert_sound(tables)


def test_no_gutter_run_is_longer_than_the_rule(share):
    tables = share(BIG_LOT, roof_table(box(0, 0, 50, 10), roof_kind=["gable"]))
    along = sorted({place[0] for place in at(tables)})
    np.testing.assert_allclose(along, [0, 50 / 3, 100 / 3, 50], atol=1e-3)
    assert max(np.diff(along)) / 2 <= 12
    longer = share(BIG_LOT, roof_table(box(0, 0, 50, 10), roof_kind=["gable"]), gutter_run_most_m=30)
    assert sorted(at(longer)) == [(0, 0), (0, 10), (50, 0), (50, 10)]
    assert_sound(tables)


def test_the_middle_house_of_a_row_has_one_downspout_an_eave(share):
    lots = [box(6 * i, 0, 6 * i + 6, 30) for i in range(3)]
    tables = share(lots, roof_table(box(0, 5, 18, 14), roof_kind=["gable"]))
    middle = tables.downspouts[tables.downspouts["lot_id"] == "L1"]
    np.testing.assert_allclose(middle["share_m2"], [27, 27])
    np.testing.assert_allclose(middle["share_low_m2"], middle["share_high_m2"])
    assert middle.geometry.x.between(6.1, 11.9).all()
    np.testing.assert_allclose(sorted(middle["normal_y"]), [-1, 1])
    assert_sound(tables)


def test_a_long_twin_has_a_downspout_at_its_party_wall_too(share):
    lots = [box(0, 0, 20, 30), box(20, 0, 40, 30)]
    tables = share(lots, roof_table(box(4, 5, 36, 14), roof_kind=["gable"]))
    front = tables.downspouts[(tables.downspouts["lot_id"] == "L0") & (tables.downspouts.geometry.y == 5)]
    np.testing.assert_allclose(sorted(front.geometry.x), [4, 19.7])


def test_given_downspouts_win(share):
    given = spout_table((16.2, 11.9), (3.5, 22.4), downspout_id=["front", "back"], leads_to=["drive", None])
    tables = share(LOT, HOUSE, given)
    assert at(tables) == {(16, 12): (60, 60, 60), (4, 22): (60, 60, 60)}
    assert list(tables.downspouts["downspout_id"]) == ["front", "back"]
    assert list(tables.downspouts["leads_to"].fillna("?")) == ["drive", "?"]
    assert not tables.downspouts["placed"].any()
    assert_sound(tables)


def test_one_given_downspout_leaves_the_far_corners_to_placed_ones(share):
    tables = share(LOT, HOUSE, spout_table((16, 12), downspout_id=["D"]))
    rows = tables.downspouts.set_index("downspout_id")
    assert list(rows["placed"]) == [True, False, True, True]
    assert tuple(rows.loc["D", ["share_low_m2", "share_m2", "share_high_m2"]]) == pytest.approx((30, 30, 60))
    assert_sound(tables)


def test_a_given_downspout_in_the_middle_of_an_eave_cuts_no_plane_of_its_own(share):
    tables = share(LOT, HOUSE, spout_table((10, 12), (10, 22), downspout_id=["S", "N"]))
    assert at(tables) == {(10, 12): (60, 60, 60), (10, 22): (60, 60, 60)}
    south = tables.shares.geometry[0]
    assert south.bounds == (4, 12, 16, 17)
    assert tuple(tables.downspouts.loc[0, ["normal_x", "normal_y"]]) == (0, -1)
    assert_sound(tables)


def test_a_downspout_near_no_eave_is_told(share):
    tables = share(LOT, HOUSE, spout_table((10, 35), (150, 150), downspout_id=["lost", "elsewhere"]))
    assert list(tables.problems["feature"]) == ["lost"]
    assert list(tables.problems["done"]) == ["dropped"]
    assert len(tables.downspouts) == 4


def test_small_outbuildings_have_no_shares(share):
    tables = share(LOT, roof_table(HOUSE, box(1, 30, 4, 33), box(10, 30, 15, 35)))
    assert dict(zip(tables.pieces["kind"], tables.pieces["shared"], strict=True)) == {
        "house": True,
        "shed": False,
        "garage": True,
    }
    assert set(tables.shares["piece_id"]) == {"R0/L0", "R2/L0"}
    assert tables.pieces["method"].isna().sum() == 1


def test_small_shares_are_flagged_not_dropped(share):
    """Shares of 30 m2 may be 60 m2 with the gutters falling the other way; where all are given each is what it is."""
    tables = share(LOT, HOUSE, roof_share_least_m2=60.5)
    assert len(tables.downspouts) == 4
    assert not tables.downspouts["worth_leading"].any()
    assert share(LOT, HOUSE, roof_share_least_m2=30.5).downspouts["worth_leading"].all()
    given = spout_table((4, 12), (16, 12), (4, 22), (16, 22))
    assert not share(LOT, HOUSE, given, roof_share_least_m2=30.5).downspouts["worth_leading"].any()


def test_a_flat_roof_is_quartered_with_the_widest_range(share):
    tables = share(LOT, roof_table(HOUSE, roof_kind=["flat"]))
    assert set(at(tables).values()) == {(30, 0, 120)}


def test_roof_kinds_come_from_the_roof_then_from_the_rules(share):
    roofs = roof_table(HOUSE, box(4, 30, 10, 36), roof_kind=["hip", None])
    assert list(share(LOT, roofs, roof_kind="flat").pieces["roof_kind"]) == ["hip", "flat"]
    assert list(share(LOT, HOUSE, roof_kind="gable").pieces["roof_kind"]) == ["gable"]


def test_a_piece_of_walls_alone_is_not_led(share):
    """The middle of a large roof cut out by a lot of its own."""
    ring = box(0, 0, 30, 30).difference(box(10, 10, 20, 20))
    tables = share([box(10, 10, 20, 20), ring], box(5, 5, 25, 25))
    inner = tables.shares[tables.shares["lot_id"] == "L0"]
    assert inner["downspout_id"].isna().all()
    assert inner["area_m2"].sum() == pytest.approx(100)
    assert_sound(tables)


def test_roofs_and_lots_without_each_other(share):
    empty = share(LOT, box(50, 0, 60, 10))
    assert [len(table) for table in (empty.pieces, empty.shares, empty.downspouts, empty.problems)] == [0, 0, 0, 0]
    none = share_roofs(roof_table(), lot_table(LOT), None, Rules())
    assert len(none.pieces) == 0


def test_tables_are_as_declared(share):
    tables = share(LOT, roof_table(HOUSE, basement=np.array([True], dtype=object)))
    for name, table in (("roof_pieces", tables.pieces), ("roof_shares", tables.shares)):
        assert set(conform(table, TABLES[name]).columns) == {field.name for field in TABLES[name]}
    assert "share_m2" in conform(tables.downspouts, TABLES["downspouts"])
    assert bool(tables.pieces["basement"][0]) is True


def test_the_stage_gives_the_same_for_a_block():
    roofs, lots = roof_table(HOUSE), lot_table(LOT)
    zeros = {"heights_m": np.zeros((2, 2))}
    layers = {"roofs": roofs, "lots": lots, "downspouts": spout_table((16, 12), downspout_id=["D"])}
    block = Block(lots, layers, None, zeros)
    tables = roof_shares(block, AreaContext(Rules(), CRS("EPSG:32615"), frozenset()))
    assert list(tables["downspouts"]["downspout_id"]) == ["R0/L0/a", "D", "R0/L0/c", "R0/L0/d"]
    assert len(tables["roof_shares"]) == 4
    assert len(tables["roof_pieces"]) == 1
    assert len(tables["roof_problems"]) == 0


def test_what_a_lot_gets_does_not_hang_on_the_lots_around():
    shapes = [affinity.translate(shape, 40 * i, 0) for i, shape in enumerate(polygons("T", 6, seed=41))]
    lots = lot_table(*(box(40 * i - 22, -30, 40 * i + 18, 30) for i in range(6)))
    roofs = roof_table(*shapes)
    whole = share_roofs(roofs, lots, None, Rules())
    for i in range(6):
        alone = share_roofs(roofs, lots.iloc[[i]].reset_index(drop=True), None, Rules())
        there = whole.downspouts[whole.downspouts["lot_id"] == f"L{i}"].reset_index(drop=True)
        assert_geodataframe_equal(alone.downspouts, there)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(sorted(FAMILIES)),
    st.integers(0, 10_000),
    st.sampled_from(["hip", "gable", "flat"]),
    st.lists(st.tuples(st.floats(-15, 15), st.floats(-15, 15)), max_size=5),
    st.sampled_from([4.0, 12.0]),
)
def test_shares_of_any_roof_add_up(family, seed, kind, points, run):
    shape = polygons(family, 1, seed)[0]
    middle = shape.centroid.x
    lots = [box(-200, -200, middle, 200), box(middle, -200, 200, 200)]
    spouts = spout_table(*points, downspout_id=[f"D{i}" for i in range(len(points))]) if points else None
    rules = Rules(gutter_run_most_m=run, outbuilding_most_m2=0)
    tables = share_roofs(roof_table(shape, roof_kind=[kind]), lot_table(*lots), spouts, rules)
    assert_sound(tables)


def test_a_house_drawn_in_two_sheds_as_one_drawn_whole_but_for_its_ends(share):
    """No downspout and no gutter stands between the halves: each sheds to its own two corners outside."""
    halves = share(box(0, 0, 40, 30), [box(5, 5, 15, 15), box(15, 5, 25, 15)])
    whole = share(box(0, 0, 40, 30), [box(5, 5, 25, 15)])
    places = {(point.x, point.y) for point in halves.downspouts.geometry}
    assert places == {(point.x, point.y) for point in whole.downspouts.geometry} == {(5, 5), (25, 5), (5, 15), (25, 15)}
    np.testing.assert_allclose(halves.downspouts["share_m2"], 50)
    assert halves.shares["area_m2"].sum() == pytest.approx(200)
