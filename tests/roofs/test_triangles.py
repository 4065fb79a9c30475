import numpy as np
import pytest

from screening.roofs import planes as module
from screening.roofs.footprints import Footprints
from screening.roofs.planes import METHODS, RoofPlanes, roof_planes
from screening.roofs.triangles import rings_by_triangles
from tests.roofs.made_up import FAMILIES, footprints, polygons, with_random_gables


@pytest.fixture
def nothing_holds(monkeypatch):
    """Every attempt at a skeleton fails."""
    attempt = module._attempt

    def fail(*arguments):
        planes, held = attempt(*arguments)
        return planes, np.zeros_like(held)

    monkeypatch.setattr(module, "_attempt", fail)


@pytest.mark.parametrize("family", FAMILIES)
def test_triangles_tile_any_roof(family, nothing_holds):
    feet = Footprints.from_polygons(polygons(family, 6, seed=31))
    speed = with_random_gables(feet, seed=32)
    planes = roof_planes(feet, speed)
    assert (planes.method == METHODS.index("triangulation")).all()
    x, y = feet.xy_m.T
    area = 0.5 * np.bincount(feet.piece_of_edge, weights=x * y[feet.ends] - x[feet.ends] * y)
    np.testing.assert_allclose(np.bincount(feet.piece_of_edge, weights=planes.area_m2), area, rtol=1e-9)
    assert (planes.area_m2 >= 0).all()
    assert (planes.area_m2[speed == 0] == 0).all()


def test_the_plane_of_an_eave_starts_with_it():
    feet = footprints(*polygons("star", 1, seed=33))
    rings = rings_by_triangles(feet, 0, np.ones(len(feet.xy_m), dtype=bool))
    for e, ring in enumerate(rings):
        assert len(ring) == 0 or (ring[0], ring[1]) == (e, feet.ends[e])


def test_a_roof_of_walls_alone_is_triangulated_with_all_its_edges(nothing_holds):
    planes = roof_planes(footprints(*polygons("L", 1, seed=3)), np.zeros(6))
    assert planes.area_m2.sum() == pytest.approx(
        planes.footprints.take(np.array([0]))[0].xy_m.shape[0] and _area(planes)
    )
    assert (planes.speed == 1).all()


def _area(planes: RoofPlanes) -> float:
    x, y = planes.footprints.xy_m.T
    ends = planes.footprints.ends
    return float(0.5 * np.sum(x * y[ends] - x[ends] * y))


def test_only_the_roof_that_fails_is_triangulated(monkeypatch):
    attempt = module._attempt
    feet = Footprints.from_polygons(polygons("T", 5, seed=34))
    plain = roof_planes(feet, np.ones(len(feet.xy_m)))

    def fail_third(some, *arguments):
        planes, held = attempt(some, *arguments)
        held[2 if len(some) == 5 else 0] = False
        return planes, held

    monkeypatch.setattr(module, "_attempt", fail_third)
    planes = roof_planes(feet, np.ones(len(feet.xy_m)))
    np.testing.assert_array_equal(planes.method, [0, 0, METHODS.index("triangulation"), 0, 0])
    same = feet.piece_of_edge != 2
    np.testing.assert_array_equal(planes.area_m2[same], plain.area_m2[same])
    before, after = plain.polygons()[0], planes.polygons()[0]
    assert [shape.area for shape in after[-8:]] == [shape.area for shape in before[-8:]]
