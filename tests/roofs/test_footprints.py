import numpy as np
import pytest
from shapely import Polygon, box

from screening.roofs.footprints import Footprints, last_at_most, polygons_of_loops, ranges
from tests.roofs.made_up import footprints


def test_rings_are_oriented_opened_and_freed_of_doubled_corners():
    court = Polygon([(0, 0), (0, 9), (9, 9), (9, 0), (9, 0)], [[(3, 3), (6, 3), (6, 6), (3, 6)]])
    feet = footprints(court, box(20, 0, 22, 1))
    np.testing.assert_array_equal(feet.ring_offsets, [0, 4, 8, 12])
    np.testing.assert_array_equal(feet.piece_offsets, [0, 2, 3])
    x, y = feet.xy_m.T
    cross = x * y[feet.ends] - x[feet.ends] * y
    np.testing.assert_allclose(np.add.reduceat(cross, feet.ring_offsets[:-1]) / 2, [81, -9, 2])
    np.testing.assert_array_equal(feet.on_hole, [False] * 4 + [True] * 4 + [False] * 4)
    np.testing.assert_array_equal(feet.piece_of_edge, [0] * 8 + [1] * 4)
    np.testing.assert_array_equal(feet.ends[:8], [1, 2, 3, 0, 5, 6, 7, 4])
    np.testing.assert_array_equal(feet.befores[feet.ends], np.arange(12))


def test_heights_of_corners_are_left_out():
    solid = Polygon([(0, 0, 5), (4, 0, 5), (4, 3, 5)])
    np.testing.assert_array_equal(footprints(solid).xy_m, [(0, 0), (4, 0), (4, 3)])


def test_some_are_taken_with_their_edges():
    feet = footprints(
        box(0, 0, 1, 1), Polygon([(0, 0), (3, 0), (0, 3)]), box(5, 0, 6, 1).difference(box(5.2, 0.2, 5.4, 0.4))
    )
    part, edges = feet.take(np.array([2, 0]))
    np.testing.assert_array_equal(edges, [*range(7, 15), *range(4)])
    np.testing.assert_array_equal(part.xy_m, feet.xy_m[edges])
    np.testing.assert_array_equal(part.ring_offsets, [0, 4, 8, 12])
    np.testing.assert_array_equal(part.piece_offsets, [0, 2, 3])


def test_nothing_is_laid_out_of_nothing():
    feet = Footprints.from_polygons(np.empty(0, dtype=object))
    assert len(feet) == 0
    assert len(feet.ends) == 0


def test_ranges():
    np.testing.assert_array_equal(ranges(np.array([5, 0, 2]), np.array([7, 0, 5])), [5, 6, 2, 3, 4])


def test_outlines_become_polygons_with_holes_and_parts():
    square = [(0, 0), (4, 0), (4, 4), (0, 4)]
    hole = [(1, 1), (1, 2), (2, 2), (2, 1)]
    apart = [(8, 0), (9, 0), (9, 1)]
    xy = np.array([*square, *square, *hole, *square, *apart], dtype=float)
    loops = np.array([0, 4, 8, 12, 16, 19])
    plain, holed, parted = polygons_of_loops(xy, loops, np.array([0, 1, 3, 5]))
    assert plain.equals(box(0, 0, 4, 4))
    assert holed.equals(box(0, 0, 4, 4).difference(box(1, 1, 2, 2)))
    assert parted.area == pytest.approx(16.5)
    assert len(parted.geoms) == 2
    assert len(polygons_of_loops(np.empty((0, 2)), np.zeros(1, int), np.zeros(1, int))) == 0


def test_the_last_of_a_run_that_is_at_most_a_number():
    values = np.array([0.0, 2.0, 5.0, 1.0, 0.0, 0.0, 3.0])
    offsets = np.array([0, 3, 4, 4, 7])
    run = np.array([0, 0, 0, 0, 0, 1, 1, 2, 3, 3])
    most = np.array([-1.0, 0.0, 4.9, 5.0, 99.0, 0.5, 1.0, 7.0, 0.0, 2.0])
    np.testing.assert_array_equal(last_at_most(values, offsets, run, most), [-1, 0, 1, 2, 2, 2, 3, 3, 5, 5])
