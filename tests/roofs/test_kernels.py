"""The kernels compiled and as plain Python: the same planes and the same shares."""

import importlib
import pkgutil

import numpy as np
import pytest
from geopandas.testing import assert_geodataframe_equal
from shapely import Point, affinity, box

from screening.roofs import kernels
from screening.roofs.footprints import Footprints
from screening.roofs.kernels.divide import area_before, position_of_area, share_out
from screening.roofs.kernels.faces import simple_area
from screening.roofs.kernels.gutters import find_corners
from screening.roofs.kernels.wave import clockwise
from screening.roofs.planes import roof_planes
from tests.roofs.conftest import roof_table, spout_table
from tests.roofs.made_up import FAMILIES, polygons, with_random_gables

MODULES = [
    importlib.import_module(f"{kernels.__name__}.{module.name}") for module in pkgutil.iter_modules(kernels.__path__)
]


@pytest.fixture
def as_plain_python(monkeypatch):
    """Call it, and every kernel of roofs runs as plain Python from then on."""

    def switch():
        stages = [importlib.import_module(f"screening.roofs.{name}") for name in ("planes", "spouts")]
        for module in MODULES + stages:
            for name, value in list(vars(module).items()):
                if hasattr(value, "py_func"):
                    monkeypatch.setattr(module, name, value.py_func)

    return switch


def test_planes(as_plain_python):
    feet = Footprints.from_polygons(np.concatenate([polygons(family, 2, seed=51) for family in FAMILIES]))
    speed = with_random_gables(feet, seed=52)
    compiled = roof_planes(feet, speed)
    as_plain_python()
    plain = roof_planes(feet, speed)
    for name in ("speed", "node_offsets", "rings", "ring_starts", "method"):
        np.testing.assert_array_equal(getattr(plain, name), getattr(compiled, name))
    np.testing.assert_allclose(plain.nodes, compiled.nodes, rtol=1e-12, atol=1e-12)
    np.testing.assert_allclose(plain.area_m2, compiled.area_m2, rtol=1e-12)


def test_shares(as_plain_python, share):
    shapes = [
        *polygons("T", 1, seed=53),
        affinity.translate(polygons("courtyard", 1, seed=53)[0], 60, 0),
        affinity.translate(Point(0, 0).buffer(7), 120, 0),
        box(150, 0, 190, 8),
    ]
    roofs = roof_table(*shapes, roof_kind=["hip", "hip", "flat", "gable"])
    lots = [box(60 * i - 40, -80, 60 * i + 20, 80) for i in range(5)]
    spouts = spout_table((150, 3), (170, 0), (61, 1), downspout_id=["a", "b", "c"])
    compiled = share(lots, roofs, spouts)
    as_plain_python()
    plain = share(lots, roofs, spouts)
    for name in ("pieces", "shares", "downspouts"):
        assert_geodataframe_equal(getattr(plain, name), getattr(compiled, name), check_less_precise=True)


def test_clockwise_angles():
    assert clockwise(1, 0, 0, -1) == pytest.approx(np.pi / 2)
    assert clockwise(1, 0, 0, 1) == pytest.approx(3 * np.pi / 2)
    assert clockwise(1, 0, 2, 0) == 0.0
    assert clockwise(1, 0, 1, 1e-12) == 0.0


def test_the_area_of_a_ring_is_refused_when_it_crosses_itself():
    node = np.array([(0.0, 0.0, 0.0), (4, 0, 0), (4, 3, 0), (0, 3, 0)])
    assert simple_area(node, np.array([0, 1, 2, 3]), 0, 4) == 12
    assert simple_area(node, np.array([0, 1, 3, 2]), 0, 4) == -1
    assert simple_area(node, np.array([0, 1, 2, 1]), 0, 4) == -1


@pytest.mark.parametrize(("wanted", "place"), [(0.0, 0.0), (4.5, 3.0), (10.5, 5.0), (21.0, 10.0), (16.5, 7.0)])
def test_where_a_plane_has_an_area_before_it(wanted, place):
    """The long plane of a 10 x 6 hip: a trapezoid of 10 and 4, three deep."""
    node = np.array([(0.0, 0.0), (10, 0), (7, 3), (3, 3)])
    ring = np.array([0, 1, 2, 3])
    assert area_before(node, ring, 0.0, 0.0, 1.0, 0.0, place) == pytest.approx(wanted)
    assert position_of_area(node, ring, 0.0, 0.0, 1.0, 0.0, wanted) == pytest.approx(place)


@pytest.mark.parametrize(
    ("gap", "given", "ranges"),
    [
        (10.0, 0, [(0, 40), (0, 40)]),
        (16.0, 0, [(10, 30), (10, 30)]),
        (30.0, 0, [(20, 20), (20, 20)]),
        (10.0, 1, [(20, 40), (0, 20)]),
        (10.0, 2, [(0, 20), (20, 40)]),
        (10.0, 3, [(20, 20), (20, 20)]),
    ],
)
def test_a_stretch_of_roof_is_halved_with_its_range(gap, given, ranges):
    """40 m2 between two downspouts, the longest run being 12 m."""
    spouts = np.zeros((2, 3))
    share_out(spouts, 0, 1, 40.0, gap, 12.0, given)
    np.testing.assert_allclose(spouts, [(20, *ranges[0]), (20, *ranges[1])])


def test_corners_close_together_count_as_one():
    """A square of 10 with one corner cut off by a side of a metre, and a jog in its last side."""
    xy = np.array([(0.2, 0.0), (10, 0), (10, 9.3), (9.3, 10), (0, 10), (0, 5), (0.2, 5)])
    ends = np.array([1, 2, 3, 4, 5, 6, 0])
    lengths = np.hypot(*(xy[ends] - xy).T)
    starts = np.concatenate([[0.0], np.cumsum(lengths)])
    corners = np.empty(8)
    found = find_corners(xy, ends, np.arange(7), starts, True, corners)
    np.testing.assert_allclose(sorted(corners[:found]), [0, starts[1], starts[2], starts[4]])
