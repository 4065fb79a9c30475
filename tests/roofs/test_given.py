import numpy as np
from shapely import box

from screening.roofs.footprints import Footprints
from screening.roofs.given import snap_given
from tests.roofs.conftest import spout_table

HOUSES = np.array([box(0, 0, 12, 10), box(20, 0, 26, 6)])


def snapped(points, eave=None):
    feet = Footprints.from_polygons(HOUSES)
    eave = np.ones(len(feet.xy_m), dtype=bool) if eave is None else eave
    return feet, snap_given(spout_table(*points), HOUSES, feet, eave)


def places(feet, given):
    edge = given.edge + feet.edge_offsets[np.repeat(np.arange(len(feet)), np.diff(given.offsets))]
    along = feet.xy_m[feet.ends[edge]] - feet.xy_m[edge]
    unit = along / np.hypot(*along.T)[:, np.newaxis]
    return np.round(feet.xy_m[edge] + given.at_m[:, np.newaxis] * unit, 6).tolist()


def test_downspouts_go_to_the_nearest_eave_of_the_nearest_roof():
    feet, given = snapped([(25, 7), (4, -1), (12.5, 3), (6, 8.8)])
    np.testing.assert_array_equal(given.row, [1, 2, 3, 0])
    np.testing.assert_array_equal(given.offsets, [0, 3, 4])
    assert places(feet, given) == [[4, 0], [12, 3], [6, 10], [25, 6]]
    assert len(given.left) == 0


def test_a_point_past_a_corner_goes_to_the_corner():
    feet, given = snapped([(12.5, 10.7)])
    assert places(feet, given) == [[12, 10]]


def test_far_ones_are_left():
    _, given = snapped([(50, 50), (1, 1)])
    np.testing.assert_array_equal(given.left, [0])
    np.testing.assert_array_equal(given.row, [1])


def test_gables_and_party_walls_take_none():
    feet = Footprints.from_polygons(HOUSES)
    eave = np.ones(len(feet.xy_m), dtype=bool)
    east = feet.xy_m[:, 0] + feet.xy_m[feet.ends, 0] == 24
    eave[east] = False
    eave[feet.piece_of_edge == 1] = False
    _, given = snapped([(12.1, 3), (20, 3)], eave)
    assert places(feet, given) == [[12, 0]]
    np.testing.assert_array_equal(given.left, [1])


def test_none_given():
    feet = Footprints.from_polygons(HOUSES)
    given = snap_given(None, HOUSES, feet, np.ones(len(feet.xy_m), dtype=bool))
    assert len(given.row) == len(given.left) == 0
    np.testing.assert_array_equal(given.offsets, [0, 0, 0])
    nothing = Footprints.from_polygons(HOUSES[:0])
    given = snap_given(spout_table((1, 1)), HOUSES[:0], nothing, np.empty(0, dtype=bool))
    np.testing.assert_array_equal(given.left, [0])
