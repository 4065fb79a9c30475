import numpy as np
import pytest
from shapely import Polygon, affinity, box

from screening.roofs.footprints import Footprints
from screening.roofs.gables import gable_edges, roof_sides
from tests.roofs.made_up import footprints, polygons

ELL = [(0, 0), (12, 0), (12, 6), (4, 6), (4, 10), (0, 10)]
TEE = [(0, 0), (12, 0), (12, 4), (8, 4), (8, 10), (4, 10), (4, 4), (0, 4)]
YOU = [(0, 0), (12, 0), (12, 10), (8, 10), (8, 4), (4, 4), (4, 10), (0, 10)]
JOGGED = [(0, 0), (6, 0), (6, 0.2), (12, 0.2), (12, 8), (0, 8)]
CHAMFERED = [(0, 0), (11.4, 0), (12, 0.6), (12, 8), (0, 8)]


def gables_of(corners):
    """Middles of the gables."""
    feet = footprints(Polygon(corners))
    found = gable_edges(feet, roof_sides(feet))
    middles = 0.5 * (feet.xy_m + feet.xy_m[feet.ends])
    return sorted(tuple(round(float(v), 6) for v in row) for row in middles[found])


@pytest.mark.parametrize(
    ("corners", "middles"),
    [
        ([(0, 0), (12, 0), (12, 8), (0, 8)], [(0, 4), (12, 4)]),
        ([(0, 0), (8, 0), (8, 12), (0, 12)], [(4, 0), (4, 12)]),
        (ELL, [(2, 10), (12, 3)]),
        (TEE, [(0, 2), (6, 10), (12, 2)]),
        (YOU, [(2, 10), (10, 10)]),
        ([(0, 0), (6, 0), (3, 4)], []),
        (JOGGED, [(0, 4), (12, 4.1)]),
        (CHAMFERED, [(0, 4), (11.7, 0.3), (12, 4.3)]),
        ([(0, 0), (0.9, 0), (0.9, 0.6), (0, 0.6)], []),
    ],
    ids=["wide", "deep", "L", "T", "U", "triangle", "jogged", "chamfered", "tiny"],
)
def test_gables_end_the_wings(corners, middles):
    assert gables_of(corners) == middles


def test_sides_overlook_jogs_and_corners_in_line():
    feet = footprints(Polygon(JOGGED), Polygon([(20, 0), (26, 0), (32, 0), (32, 8), (20, 8)]))
    sides = roof_sides(feet)
    np.testing.assert_array_equal(sides.offsets, [0, 4, 8])
    np.testing.assert_array_equal(np.bincount(sides.of_edge), [3, 1, 1, 1, 2, 1, 1, 1])
    np.testing.assert_allclose(sides.turn_deg, 90)
    np.testing.assert_allclose(sides.length_m[4:], [12, 8, 12, 8])


def test_a_square_has_two_gables_however_it_is_drawn():
    square = [(0, 0), (10, 0), (10, 10.05), (0, 10.05)]
    for start in range(4):
        assert gables_of(square[start:] + square[:start]) == [(0, 5.025), (10, 5.025)]


def test_a_side_of_several_edges_is_one_gable():
    assert gables_of([(0, 0), (12, 0), (12, 3), (12, 8), (0, 8)]) == [(0, 4), (12, 1.5), (12, 5.5)]


def test_court_walls_are_no_gables():
    feet = footprints(box(0, 0, 20, 14).difference(box(5, 5, 9, 7)))
    found = gable_edges(feet, roof_sides(feet))
    assert found.sum() == 2
    assert not found[feet.on_hole].any()


def test_turning_the_roof_turns_its_gables():
    shape = Polygon(TEE)
    for angle in (10.0, 77.7, 145.0):
        feet = footprints(affinity.rotate(shape, angle, origin=(0, 0)))
        found = gable_edges(feet, roof_sides(feet))
        lengths = np.hypot(*(feet.xy_m[feet.ends] - feet.xy_m).T)[found]
        np.testing.assert_allclose(lengths, [4, 4, 4])


def test_no_two_gables_meet():
    shapes = np.concatenate([polygons(family, 100, seed=5) for family in ("L", "T", "U", "rectilinear", "jittered")])
    feet = Footprints.from_polygons(shapes)
    found = gable_edges(feet, roof_sides(feet))
    along = feet.xy_m[feet.ends] - feet.xy_m
    turn = along[feet.befores, 0] * along[:, 1] - along[feet.befores, 1] * along[:, 0]
    sharp = np.abs(turn) > 0.2 * np.hypot(*along.T) * np.hypot(*along[feet.befores].T)
    assert not (found & found[feet.befores] & sharp).any()
    assert found.sum() > 500
