"""The kernels compiled and as plain Python: the same planes and the same shares."""

import importlib
import pkgutil

import numpy as np
import pytest
from geopandas.testing import assert_geodataframe_equal
from shapely import Point, affinity, box

from screening.roofs import kernels
from screening.roofs.footprints import Footprints
from screening.roofs.kernels.faces import simple_area
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
