import numpy as np
import pytest
from shapely import Polygon, box

from screening.roofs.given import GivenSpouts
from screening.roofs.gutters import EAVE, GABLE, PARTY, follow_gutters
from screening.roofs.sites import place_sites
from tests.roofs.made_up import footprints

RUN_M = 12.0


def places(kinds, given=(), shape=box(0, 0, 12, 10), run=RUN_M):  # noqa: B008 (an immutable shape)
    """Places along the south gutter of a roof whose edges, from the south one on, are of these kinds."""
    feet = footprints(Polygon(shape.exterior.coords))
    first = np.flatnonzero((feet.xy_m == feet.xy_m.min(axis=0)).all(axis=1))[0]
    kind = np.roll(np.array(kinds), first)
    eaves = np.array([first], np.int64)
    spouts = GivenSpouts(
        np.arange(len(given)),
        np.array([0, len(given)]),
        np.repeat(eaves, len(given)),
        np.array(given, float),
        eaves[:0],
    )
    gutters = follow_gutters(feet, kind)
    sites = place_sites(feet, gutters, spouts, run)
    south = sites.gutter == gutters.of_link[gutters.edge == first][0]
    return sites.at_m[south].tolist(), sites.given[south].tolist()


ALL_ROUND = [EAVE] * 4
BETWEEN_GABLES = [EAVE, GABLE, EAVE, GABLE]
AT_A_PARTY_WALL = [EAVE, PARTY, GABLE, GABLE]
BETWEEN_PARTY_WALLS = [EAVE, PARTY, EAVE, PARTY]


def test_all_corners_of_a_loop():
    assert places(ALL_ROUND) == ([0, 12, 22, 34], [-1] * 4)


def test_both_ends_between_gables():
    assert places(BETWEEN_GABLES)[0] == [0, 12]


def test_the_free_end_beside_a_party_wall():
    assert places(AT_A_PARTY_WALL)[0] == [0]
    assert places(AT_A_PARTY_WALL, run=6)[0] == pytest.approx([0, 11.7])
    assert places(AT_A_PARTY_WALL, run=4)[0] == pytest.approx([0, 5.85, 11.7])


def test_one_place_between_party_walls_and_two_where_it_is_long():
    assert places(BETWEEN_PARTY_WALLS)[0] == [0.3]
    assert places(BETWEEN_PARTY_WALLS, run=11.8)[0] == [0.3]
    assert places(BETWEEN_PARTY_WALLS, run=11)[0] == pytest.approx([0.3, 11.7])


def test_given_ones_alone_where_they_reach():
    assert places(BETWEEN_GABLES, given=[3.0]) == ([3], [0])
    assert places(BETWEEN_GABLES, given=[3.0, 9.0]) == ([3, 9], [0, 1])


def test_an_end_too_far_from_the_given_one():
    assert places(BETWEEN_GABLES, given=[3.0], run=8) == ([3, 12], [0, -1])


def test_corners_too_far_from_the_given_one():
    """Right round it is 44 m: the one given at 6 takes 24 m at most, so that corners come in beyond."""
    assert places(ALL_ROUND, given=[6.0]) == ([0, 6, 12, 22, 34], [-1, 0, -1, -1, -1])
    assert places(ALL_ROUND, given=[6.0], run=22) == ([6], [0])


def test_corners_close_to_a_given_one_are_left_out():
    assert places(ALL_ROUND, given=[1.0]) == ([1, 12, 22, 34], [0, -1, -1, -1])


def test_gaps_are_filled_evenly():
    assert places(BETWEEN_GABLES, run=2.5)[0] == pytest.approx([0, 4, 8, 12])
    assert places(ALL_ROUND, run=5)[0] == pytest.approx([0, 6, 12, 22, 28, 34])


def test_two_given_at_one_place_stay_two():
    assert places(BETWEEN_GABLES, given=[3.0, 3.0]) == ([3, 3], [0, 1])


def test_a_gutter_shorter_than_a_corner_has_one_downspout():
    assert places(BETWEEN_GABLES, shape=box(0, 0, 1.2, 10))[0] == [0]
