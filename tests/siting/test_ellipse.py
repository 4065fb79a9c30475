import numpy as np
import pytest
import shapely

from screening.siting.ellipse import ellipse_polygons, footprint_area_m2, half_axes_m, half_extent_m


def test_half_axes_by_hand():
    long, short = half_axes_m(np.pi * 2.0, 2.0)
    assert long == pytest.approx(2.0)
    assert short == pytest.approx(1.0)


def test_extent_is_the_long_axis_along_it_and_the_short_across():
    assert half_extent_m(np.pi * 2.0, 2.0, [0.0, 90.0]) == pytest.approx([2.0, 1.0])
    assert half_extent_m(np.pi * 2.0, 2.0, 45.0) == pytest.approx(np.sqrt(2.5))


@pytest.mark.parametrize("aspect", [1.0, 1.15, 2.0, 3.0])
def test_footprint_area_is_that_of_the_grown_ellipse(aspect):
    polygon = ellipse_polygons([0.0], [0.0], [8.0], [aspect], [0.0], vertices=2000)[0]
    grown = shapely.buffer(polygon, 0.6, quad_segs=200)
    assert footprint_area_m2(8.0, aspect, 0.6) == pytest.approx(shapely.area(grown), rel=1e-4)


def test_polygons_lie_where_they_are_told_to():
    polygon = ellipse_polygons([10.0], [20.0], [8.0], [2.0], [90.0])[0]
    assert shapely.area(polygon) == pytest.approx(8.0, rel=0.01)
    west, south, east, north = shapely.bounds(polygon)
    long, short = half_axes_m(8.0, 2.0)
    assert (west, east) == pytest.approx((10.0 - short, 10.0 + short))
    assert (south, north) == pytest.approx((20.0 - long, 20.0 + long))
