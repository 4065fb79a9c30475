import numpy as np
import pytest
from shapely import box

from screening.roofs.division import area_before, place_of_area, share_ranges
from screening.roofs.planes import roof_planes
from screening.roofs.sites import Sites
from tests.roofs.made_up import footprints, polygons


def south_eave(planes):
    """The eave along y = 0."""
    y = planes.footprints.xy_m[:, 1]
    return np.flatnonzero((y == 0) & (y[planes.footprints.ends] == 0))


@pytest.mark.parametrize(("area", "place"), [(0.0, 0.0), (4.5, 3.0), (10.5, 5.0), (16.5, 7.0), (21.0, 10.0)])
def test_area_before_a_place_and_back(area, place):
    """The long plane of a 10 x 6 hip: a trapezoid of 10 and 4, three deep."""
    planes = roof_planes(footprints(box(0, 0, 10, 6)), np.ones(4))
    eave = south_eave(planes)
    assert area_before(planes, eave, np.array([place])) == pytest.approx([area])
    assert place_of_area(planes, eave, np.array([area])) == pytest.approx([place])


def test_every_plane_has_a_place_for_every_area():
    feet = footprints(*polygons("rectilinear", 20, seed=61), *polygons("star", 20, seed=61))
    planes = roof_planes(feet, np.ones(len(feet.xy_m)))
    edges = np.repeat(np.arange(len(feet.xy_m)), 3)
    wanted = planes.area_m2[edges] * np.random.default_rng(62).random(len(edges))
    places = place_of_area(planes, edges, wanted)
    np.testing.assert_allclose(area_before(planes, edges, places), wanted, rtol=1e-9, atol=1e-9)


def test_nothing_to_ask():
    planes = roof_planes(footprints(box(0, 0, 10, 6)), np.ones(4))
    none = np.empty(0, np.int64)
    assert len(area_before(planes, none, np.empty(0))) == len(place_of_area(planes, none, np.empty(0))) == 0


@pytest.mark.parametrize(
    ("gap", "given", "ranges"),
    [
        (10.0, (-1, -1), [(0, 40), (0, 40)]),
        (16.0, (-1, -1), [(10, 30), (10, 30)]),
        (30.0, (-1, -1), [(20, 20), (20, 20)]),
        (10.0, (0, -1), [(20, 40), (0, 20)]),
        (10.0, (-1, 0), [(0, 20), (20, 40)]),
        (10.0, (0, 1), [(20, 20), (20, 20)]),
    ],
)
def test_a_stretch_of_roof_is_halved_with_its_range(gap, given, ranges):
    """40 m2 between two downspouts, the longest run being 12 m."""
    sites = Sites.of(np.zeros(2, np.int64), np.array([0.0, gap]), np.array(given))
    low, high = share_ranges(sites, np.array([0]), np.array([1]), np.array([40.0]), np.array([gap]), 12.0)
    np.testing.assert_allclose(np.column_stack([low, high]), ranges)
