import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from screening.roofs.gutters import CORNER_M, EAVE, GABLE, PARTY, corner_places, follow_gutters, link_at
from tests.roofs.made_up import footprints


def corners_of(corners):
    """Points at which a builder would put downspouts."""
    feet = footprints(Polygon(corners))
    gutters = follow_gutters(feet, np.full(len(feet.xy_m), EAVE))
    gutter, at_m = corner_places(feet, gutters)
    link = link_at(gutters, gutter, at_m)
    return {tuple(point) for point in feet.xy_m[gutters.edge[link]].tolist()}


def test_a_hip_roof_has_one_gutter_right_round_from_its_south_west_corner():
    feet = footprints(Polygon([(12, 10), (0, 10), (0, 0), (12, 0)]))
    gutters = follow_gutters(feet, np.full(4, EAVE))
    np.testing.assert_array_equal(gutters.closed, [True])
    np.testing.assert_array_equal(feet.xy_m[gutters.edge], [(0, 0), (12, 0), (12, 10), (0, 10)])
    np.testing.assert_array_equal(gutters.start_m, [0, 12, 22, 34])
    np.testing.assert_array_equal(gutters.length_m, [44])


def test_gables_and_party_walls_part_gutters():
    feet = footprints(box(0, 0, 12, 10), box(20, 0, 26, 10), box(40, 0, 44, 4))
    east = feet.xy_m[:, 0] + feet.xy_m[feet.ends, 0]
    kind = np.full(12, EAVE)
    kind[(east == 0) | (east == 24)] = GABLE
    kind[east == 52] = PARTY
    gutters = follow_gutters(feet, kind)
    np.testing.assert_array_equal(gutters.piece, [0, 0, 1, 2])
    np.testing.assert_array_equal(gutters.closed, [False, False, False, True])
    np.testing.assert_array_equal(gutters.length_m, [12, 12, 22, 16])
    np.testing.assert_array_equal(gutters.party_first, [False, False, True, False])
    np.testing.assert_array_equal(gutters.party_last, [False, False, True, False])
    np.testing.assert_array_equal(gutters.of_link, [0, 1, 2, 2, 2, 3, 3, 3, 3])


def test_inner_eaves_have_no_gutter():
    feet = footprints(box(0, 0, 20, 20).difference(box(5, 5, 9, 9)))
    gutters = follow_gutters(feet, np.full(8, EAVE))
    assert not feet.on_hole[gutters.edge].any()
    assert len(gutters.edge) == 4


@pytest.mark.parametrize(
    ("corners", "expected"),
    [
        ([(0, 0), (12, 0), (12, 6), (4, 6), (4, 10), (0, 10)], {(0, 0), (12, 0), (12, 6), (4, 10), (0, 10)}),
        ([(0, 0), (6, 0), (6, 0.3), (12, 0.3), (12, 8), (0, 8)], {(0, 0), (12, 0.3), (12, 8), (0, 8)}),
        ([(0, 0), (9.3, 0), (10, 0.7), (10, 8), (0, 8)], {(0, 0), (9.3, 0), (10, 8), (0, 8)}),
        ([(0, 0), (10, 0), (10, 0.9), (10, 8), (0, 8)], {(0, 0), (10, 0), (10, 8), (0, 8)}),
    ],
    ids=["L", "jog", "chamfer", "corner on a side"],
)
def test_corners_for_downspouts(corners, expected):
    assert corners_of(corners) == expected
    assert corners_of(corners[2:] + corners[:2]) == expected


def test_a_small_round_roof_has_one_corner_and_a_large_one_none():
    small = shapely.get_coordinates(shapely.Point(0, 0).buffer(3, quad_segs=8))[:-1]
    assert len(corners_of(small.tolist())) == 1
    large = shapely.get_coordinates(shapely.Point(0, 0).buffer(30, quad_segs=8))[:-1]
    assert corners_of(large.tolist()) == set()


def test_a_place_on_a_gutter_does_not_hang_on_the_roofs_before_it():
    # a place a hair more than CORNER_M short of a corner: sums over other roofs used to round it across
    roof = box(0, 0, 12.1, 10.3)
    alone = follow_gutters(footprints(roof), np.full(4, EAVE))
    just = np.array([np.nextafter(alone.start_m[1] - CORNER_M, 0.0), alone.start_m[1] - CORNER_M / 2])
    expected = link_at(alone, np.zeros(2, np.int64), just)
    assert expected.tolist() == [0, 1]
    for others in range(1, 40):
        feet = footprints(*[box(0, 100 * k, 7.7 + k / 3, 100 * k + 9.1) for k in range(1, others + 1)], roof)
        gutters = follow_gutters(feet, np.full(len(feet.xy_m), EAVE))
        found = link_at(gutters, np.full(2, others), just)
        np.testing.assert_array_equal(found - gutters.offsets[others], expected)
