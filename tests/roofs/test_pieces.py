import itertools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from screening.roofs.pieces import SLIVER_M, building_kinds, cut_by_lots
from screening.rules import Rules
from tests.roofs.conftest import lot_table, roof_table
from tests.roofs.made_up import polygons

TWO_LOTS = (box(0, 0, 10, 30), box(10, 0, 20, 30))


def test_a_roof_on_one_lot_is_kept_to_the_last_digit():
    roof = box(2.0001234567, 3, 8, 9)
    pieces, problems = cut_by_lots(roof_table(roof), lot_table(*TWO_LOTS))
    assert pieces.geometry[0].equals_exact(roof, 0)
    assert list(pieces.loc[0, ["piece_id", "roof_id", "lot_id", "whole"]]) == ["R0/L0", "R0", "L0", True]
    assert len(problems) == 0


def test_a_roof_over_the_line_is_two_pieces():
    pieces, problems = cut_by_lots(roof_table(box(4, 5, 15, 12)), lot_table(*TWO_LOTS))
    assert list(pieces["piece_id"]) == ["R0/L0", "R0/L1"]
    np.testing.assert_allclose(pieces["area_m2"], [42, 35])
    assert not pieces["whole"].any()
    assert len(problems) == 0


def test_slivers_go_by_width_not_by_area():
    long_sliver, small_piece = box(4, 2, 10.4, 29), box(9.4, 2, 14, 2.6)
    pieces, problems = cut_by_lots(roof_table(long_sliver, small_piece), lot_table(*TWO_LOTS))
    assert list(pieces["piece_id"]) == ["R0/L0", "R1/L0", "R1/L1"]
    assert pieces["area_m2"][1] == pytest.approx(0.36)
    assert list(problems.loc[0, ["layer", "feature", "done"]]) == ["roofs", "R0", "dropped"]
    assert problems["area_before_m2"][0] == pytest.approx(0.4 * 27)
    assert "lot L1" in problems["problem"][0]


def test_a_roof_in_several_parts_on_one_lot_is_numbered_the_largest_first():
    around = Polygon([(8, 5), (12, 5), (12, 20), (8, 20), (8, 16), (11, 16), (11, 7), (8, 7)])
    pieces, _ = cut_by_lots(roof_table(around), lot_table(*TWO_LOTS))
    assert list(pieces["piece_id"]) == ["R0/L0/1", "R0/L0/2", "R0/L1"]
    np.testing.assert_allclose(pieces["area_m2"], [8, 4, 21])


def test_roofs_off_every_lot_make_no_piece():
    pieces, problems = cut_by_lots(roof_table(box(50, 0, 60, 10)), lot_table(*TWO_LOTS))
    assert len(pieces) == len(problems) == 0


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(["L", "T", "courtyard", "rectilinear", "jittered"]))
def test_pieces_add_up_to_what_lies_on_lots(seed, family):
    rng = np.random.default_rng(seed)
    roofs = [shapely.transform(shape, lambda xy: xy + rng.uniform(0, 40, 2)) for shape in polygons(family, 4, seed)]
    edges = np.cumsum([0, *rng.uniform(6, 15, 5)])
    lots = [box(a, -20, b, 80) for a, b in itertools.pairwise(edges)]
    pieces, problems = cut_by_lots(roof_table(*roofs), lot_table(*lots))
    on_lots = sum(roof.intersection(box(edges[0], -20, edges[-1], 80)).area for roof in roofs)
    around = shapely.length(np.array(roofs)).sum()
    assert pieces["area_m2"].sum() + problems["area_before_m2"].sum() == pytest.approx(on_lots, abs=0.002 * around)
    assert pieces["piece_id"].is_unique
    assert not shapely.is_empty(shapely.buffer(pieces.geometry.to_numpy(), -0.499 * SLIVER_M)).any()


ONE_LOT = (box(0, 0, 100, 100),)


def kinds(roofs, lots=ONE_LOT, **columns):
    table = roof_table(*roofs, **columns)
    pieces, _ = cut_by_lots(table, lot_table(*lots))
    found = building_kinds(pieces, table, Rules())
    return dict(zip(pieces["piece_id"], found["kind"], strict=True)), list(found["kind_basis"])


def test_kinds_are_guessed_by_size_within_the_lot():
    found, basis = kinds([box(0, 0, 6, 6), box(10, 0, 22, 10), box(30, 0, 33, 3)])
    assert found == {"R0/L0": "garage", "R1/L0": "house", "R2/L0": "shed"}
    assert basis == ["guessed"] * 3


def test_given_kinds_win_and_take_the_house_away():
    found, basis = kinds([box(0, 0, 6, 6), box(10, 0, 22, 10)], kind=["house", None])
    assert found == {"R0/L0": "house", "R1/L0": "garage"}
    assert basis == ["given", "guessed"]


def test_a_lone_small_roof_is_a_shed():
    assert kinds([box(0, 0, 3, 3)])[0] == {"R0/L0": "shed"}


def test_the_neighbours_house_over_the_line_stays_a_house():
    lots = (box(0, 0, 20, 40), box(20, 0, 40, 40))
    found, _ = kinds([box(2, 10, 14, 20), box(18, 10, 32, 20)], lots)
    assert found == {"R0/L0": "house", "R1/L0": "house", "R1/L1": "house"}


def test_unknown_words_for_kinds_are_guessed():
    assert kinds([box(0, 0, 12, 10)], kind=["yes"]) == ({"R0/L0": "house"}, ["guessed"])
