"""Areas by hand: each case was worked out on paper from the geometry of equal pitches."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity, box

from screening.roofs.footprints import Footprints
from screening.roofs.planes import METHODS, roof_planes
from tests.roofs.made_up import FAMILIES, footprints, polygons, with_random_gables

RECTANGLE = [(0, 0), (10, 0), (10, 6), (0, 6)]
ELL = [(0, 0), (12, 0), (12, 6), (4, 6), (4, 10), (0, 10)]
TEE = [(0, 0), (12, 0), (12, 4), (8, 4), (8, 10), (4, 10), (4, 4), (0, 4)]
YOU = [(0, 0), (12, 0), (12, 10), (8, 10), (8, 4), (4, 4), (4, 10), (0, 10)]
BY_HAND = {
    "hip rectangle": (RECTANGLE, [1, 1, 1, 1], [21, 9, 21, 9]),
    "gable rectangle": (RECTANGLE, [1, 0, 1, 0], [30, 0, 30, 0]),
    "twin with its party wall": (RECTANGLE, [1, 0, 1, 1], [25.5, 0, 25.5, 9]),
    "one slope": (RECTANGLE, [1, 0, 0, 0], [60, 0, 0, 0]),
    "L": (ELL, [1, 1, 1, 1, 1, 1], [27, 9, 23, 8, 4, 17]),
    "L with a gable": (ELL, [1, 1, 1, 1, 0, 1], [27, 9, 23, 10, 0, 19]),
    "L with a wall in its corner": (ELL, [1, 1, 0, 1, 1, 1], [36, 18, 0, 6, 4, 24]),
    "T": (TEE, [1] * 8, [20, 4, 8, 12, 4, 12, 8, 4]),
    "U": (YOU, [1] * 8, [20, 16, 4, 12, 12, 12, 4, 16]),
}


def flat(*rings, speed=None):
    """Footprints with the corners in the order they are written in, so that areas come in that order."""
    xy = np.array([corner for ring in rings for corner in ring], dtype=float)
    offsets = np.cumsum([0, *map(len, rings)])
    feet = Footprints(xy, offsets, np.array([0, len(rings)]))
    return roof_planes(feet, np.ones(len(xy)) if speed is None else np.array(speed, dtype=float))


def assert_sound(planes):
    """Planes tile each footprint to 1e-9, are simple, and hold their eaves."""
    feet = planes.footprints
    shapes, edges = planes.polygons()
    assert shapely.is_valid(shapes).all()
    for total in (planes.area_m2[edges], shapely.area(shapes)):
        sums = np.bincount(feet.piece_of_edge[edges], weights=total, minlength=len(feet))
        np.testing.assert_allclose(sums, _areas(feet), rtol=1e-9)
    assert np.all(planes.area_m2[edges] > 0)
    assert np.all(planes.area_m2[planes.speed == 0] == 0)
    held = planes.method < METHODS.index("triangulation")
    moving = np.flatnonzero((planes.speed > 0) & held[feet.piece_of_edge])
    np.testing.assert_array_equal(np.intersect1d(edges, moving), moving)
    starts = planes.ring_starts[moving]
    first = planes.node_offsets[feet.piece_of_edge[moving]]
    base = feet.xy_m[feet.edge_offsets[feet.piece_of_edge[moving]]]
    for step, corner in ((0, feet.xy_m[moving]), (1, feet.xy_m[feet.ends[moving]])):
        np.testing.assert_allclose(planes.nodes[first + planes.rings[starts + step], :2] + base, corner, atol=1e-9)


def _areas(feet):
    x, y = feet.xy_m.T
    cross = x * y[feet.ends] - x[feet.ends] * y
    return 0.5 * np.bincount(feet.piece_of_edge, weights=cross, minlength=len(feet))


@pytest.mark.parametrize("case", BY_HAND)
def test_areas_by_hand(case):
    corners, speed, areas = BY_HAND[case]
    planes = flat(corners, speed=speed)
    np.testing.assert_allclose(planes.area_m2, areas, rtol=1e-12)
    assert METHODS[planes.method[0]] == "skeleton"


def test_courtyard_by_hand():
    planes = flat([(0, 0), (14, 0), (14, 12), (0, 12)], [(4, 8), (8, 8), (8, 4), (4, 4)])
    np.testing.assert_allclose(planes.area_m2, [25, 27, 25, 20, 12, 19, 12, 12], rtol=1e-12)


@pytest.mark.parametrize("angle", [7.0, 33.3, 91.7, 200.0])
@pytest.mark.parametrize("case", BY_HAND)
def test_turning_and_moving_a_roof_changes_no_area(case, angle):
    corners, speed, areas = BY_HAND[case]
    moved = affinity.translate(affinity.rotate(Polygon(corners), angle), 500_000, 4_650_000)
    planes = flat(shapely.get_coordinates(moved)[:-1], speed=speed)
    np.testing.assert_allclose(planes.area_m2, areas, rtol=1e-7, atol=1e-7)


def test_planes_are_found_whatever_the_first_corner():
    for start in range(6):
        planes = flat(ELL[start:] + ELL[:start])
        np.testing.assert_allclose(np.roll(planes.area_m2, start), [27, 9, 23, 8, 4, 17], rtol=1e-12)


def test_a_roof_of_gables_alone_is_sloped_and_told():
    planes = flat(RECTANGLE, speed=[0, 0, 0, 0])
    np.testing.assert_allclose(planes.area_m2, [21, 9, 21, 9])
    assert METHODS[planes.method[0]] == "skeleton, a gable sloped"


def test_gables_are_sloped_before_party_walls():
    feet = footprints(box(0, 0, 10, 6))
    party = np.array([True, False, True, False])
    planes = roof_planes(feet, np.zeros(4), party)
    np.testing.assert_array_equal(planes.speed, np.where(party, 0, 1))
    np.testing.assert_allclose(planes.area_m2, np.where(party, 0, 30))


def test_a_court_walled_all_round_is_sloped():
    shape = box(0, 0, 14, 12).difference(box(4, 4, 8, 8))
    feet = footprints(shape)
    planes = roof_planes(feet, np.where(feet.on_hole, 0.0, 1.0))
    assert METHODS[planes.method[0]] == "skeleton, a gable sloped"
    assert_sound(planes)


def test_a_gable_in_line_with_an_eave_makes_a_step():
    """The eave from 5 to 10 climbs; the gable from 0 to 5 in line with it stands still, and other eaves fill in."""
    planes = flat([(0, 0), (5, 0), (10, 0), (10, 6), (0, 6)], speed=[0, 1, 1, 1, 1])
    assert METHODS[planes.method[0]] == "skeleton"
    assert planes.area_m2[0] == 0
    assert planes.area_m2.sum() == pytest.approx(60, rel=1e-12)
    assert planes.area_m2[3] > planes.area_m2[1]
    assert_sound(planes)


def test_speeds_are_checked():
    with pytest.raises(ValueError, match="speed must be 0 or 1 for each of 4 edges"):
        roof_planes(footprints(box(0, 0, 1, 1)), np.full(4, 0.5))


def test_no_roofs_have_no_planes():
    planes = roof_planes(footprints(), np.empty(0))
    assert len(planes.polygons()[0]) == 0


@pytest.mark.parametrize("family", FAMILIES)
def test_random_roofs_tile(family):
    """Of each family 800 footprints: more than ten thousand, half of them with hostile gables."""
    count = 800
    feet = Footprints.from_polygons(polygons(family, count, seed=11))
    speed = with_random_gables(feet, seed=12)
    speed[: feet.edge_offsets[count // 2]] = 1.0
    planes = roof_planes(feet, speed)
    assert_sound(planes)
    assert np.count_nonzero(planes.method >= METHODS.index("skeleton, every edge sloped")) == 0
    assert np.all(planes.method[: count // 2] == 0)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(sorted(FAMILIES)), st.integers(0, 2**31), st.booleans(), st.sampled_from([0.0, 0.2, 0.5]))
def test_any_roof_tiles(family, seed, turned, share):
    feet = Footprints.from_polygons(polygons(family, 1, seed, turned))
    assert_sound(roof_planes(feet, with_random_gables(feet, seed, share)))


def cut_away(ring, x, y, nx, ny):
    """The part of a convex ring where (p - (x, y)) . (nx, ny) is not positive."""
    out = []
    for (ax, ay), (bx, by) in zip(ring, ring[1:] + ring[:1], strict=True):
        a = (ax - x) * nx + (ay - y) * ny
        b = (bx - x) * nx + (by - y) * ny
        if a <= 0:
            out.append((ax, ay))
        if a * b < 0:
            f = a / (a - b)
            out.append((ax + f * (bx - ax), ay + f * (by - ay)))
    return out


def areas_by_clipping(corners):
    """Planes of a convex hip roof: what is nearer to one eave's line than to any other's."""
    n = len(corners)
    lines = []
    for i in range(n):
        ax, ay = corners[i]
        bx, by = corners[(i + 1) % n]
        length = np.hypot(bx - ax, by - ay)
        lines.append((-(by - ay) / length, (bx - ax) / length, ax, ay))
    areas = []
    for i, (nx, ny, x, y) in enumerate(lines):
        part = list(corners)
        for j, (mx, my, p, q) in enumerate(lines):
            if i == j or len(part) < 3:
                continue
            gx, gy = nx - mx, ny - my
            offset = nx * x + ny * y - mx * p - my * q
            size = gx * gx + gy * gy
            if size > 0:
                part = cut_away(part, gx * offset / size, gy * offset / size, gx, gy)
        areas.append(Polygon(part).area if len(part) > 2 else 0.0)
    return areas


def test_convex_roofs_equal_half_plane_clipping():
    rng = np.random.default_rng(3)
    for _ in range(200):
        hull = shapely.MultiPoint(rng.uniform(0, 15, (int(rng.integers(3, 20)), 2))).convex_hull
        corners = [tuple(corner) for corner in shapely.get_coordinates(shapely.orient_polygons(hull))[:-1]]
        planes = flat(corners)
        assert planes.method[0] == 0
        np.testing.assert_allclose(planes.area_m2, areas_by_clipping(corners), atol=1e-9 * hull.area)


def test_one_gable_equals_half_of_the_mirrored_roof():
    """A gable is a mirror: a convex roof and its image across the gable are one hip roof."""
    rng = np.random.default_rng(4)
    checked = 0
    while checked < 60:
        points = np.column_stack([rng.uniform(0, 10, 8), rng.uniform(0, 12, 8)])
        hull = shapely.MultiPoint([*points, (0.0, 0.0), (0.0, 8.0)]).convex_hull
        corners = shapely.get_coordinates(shapely.orient_polygons(hull))[:-1]
        wall = [i for i in range(len(corners)) if corners[i][0] == 0 and corners[(i + 1) % len(corners)][0] == 0]
        doubled = hull.union(affinity.scale(hull, -1, 1, origin=(0, 0)))
        if len(wall) != 1 or not isinstance(doubled, Polygon) or doubled.convex_hull.area > doubled.area + 1e-9:
            continue
        speed = np.ones(len(corners))
        speed[wall] = 0
        half = flat(corners, speed=speed)
        whole = flat(shapely.get_coordinates(shapely.orient_polygons(doubled))[:-1])
        assert METHODS[half.method[0]] == "skeleton"
        assert 2 * half.area_m2.sum() == pytest.approx(whole.area_m2.sum(), rel=1e-9)
        right = whole.footprints.xy_m[:, 0] + whole.footprints.xy_m[whole.footprints.ends, 0] > 1e-9
        for area in half.area_m2[speed > 0]:
            near = np.abs(np.concatenate([whole.area_m2[right], 0.5 * whole.area_m2]) - area).min()
            assert near < 1e-7
        checked += 1
