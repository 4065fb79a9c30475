"""Unit factors and areal scales of published coordinate systems (EPSG registry; units as NIST defines them)."""

import numpy as np
import pytest
from pyproj import CRS, Geod, Transformer

from screening.inputs.working_crs import (
    areal_scale,
    centre_degrees,
    horizontal_crs,
    linear_unit_m,
    local_crs,
    metric_crs,
    vertical_unit_m,
)
from screening.units import FOOT_M, US_SURVEY_FOOT_M

FEET = {"EPSG:2263": US_SURVEY_FOOT_M, "EPSG:2222": FOOT_M}


@pytest.mark.parametrize(("code", "unit"), [*FEET.items(), ("EPSG:32606", 1.0), ("EPSG:3857", 1.0)])
def test_linear_units(code, unit):
    assert linear_unit_m(CRS(code)) == pytest.approx(unit, rel=1e-14)


def test_survey_foot_and_foot_lie_apart_by_4_feet_in_2_million():
    apart = 2_000_000 * (linear_unit_m(CRS("EPSG:2263")) - linear_unit_m(CRS("EPSG:2222")))
    assert apart == pytest.approx(1.22, abs=0.005)


def test_degrees_have_no_linear_unit():
    assert linear_unit_m(CRS("EPSG:4326")) is None


@pytest.mark.parametrize("code", FEET)
def test_metric_coordinates_are_the_old_ones_times_the_unit(code):
    crs = CRS(code)
    metric = metric_crs(crs)
    assert metric.axis_info[0].unit_name == "metre"
    x = np.array([500_000.0, 900_000.0, 1_200_000.0])
    y = np.array([100_000.0, 250_000.0, 900_000.0])
    new_x, new_y = Transformer.from_crs(crs, metric, always_xy=True).transform(x, y)
    np.testing.assert_allclose(new_x, x * FEET[code], rtol=0, atol=1e-6)
    np.testing.assert_allclose(new_y, y * FEET[code], rtol=0, atol=1e-6)


def test_a_crs_in_metres_stays_itself():
    assert metric_crs(CRS("EPSG:32606")) == CRS("EPSG:32606")


def test_compound_bound_and_3d():
    compound = CRS("EPSG:2263+6360")
    assert horizontal_crs(compound) == CRS("EPSG:2263")
    assert vertical_unit_m(compound) == pytest.approx(US_SURVEY_FOOT_M, rel=1e-14)
    assert vertical_unit_m(CRS("EPSG:26918+5703")) == 1.0
    assert vertical_unit_m(CRS("EPSG:4979")) == 1.0
    assert len(horizontal_crs(CRS("EPSG:4979")).axis_info) == 2
    assert vertical_unit_m(CRS("EPSG:2263")) is None
    bound = CRS("+proj=utm +zone=32 +ellps=bessel +towgs84=598,73,418,0,0,0,0 +type=crs")
    assert linear_unit_m(bound) == 1.0


def test_areal_scale_of_web_mercator():
    # 1.81 at 41.9 N by the formula 1 / cos2, on the ellipsoid a little less.
    web = CRS("EPSG:3857")
    x, y = Transformer.from_crs("EPSG:4326", web, always_xy=True).transform(10.0, 41.9)
    assert centre_degrees(web, x, y) == pytest.approx((10.0, 41.9), abs=1e-9)
    assert areal_scale(web, 10.0, 41.9) == pytest.approx(1.81, abs=0.01)


def test_areal_scale_of_utm_at_its_central_meridian():
    # Scale 0.9996 there by definition, so areas are 0.9996 squared.
    assert areal_scale(CRS("EPSG:32632"), 9.0, 47.0) == pytest.approx(0.9996**2, rel=1e-9)


def test_local_crs_keeps_true_lengths_near_its_origin():
    local = local_crs(CRS("EPSG:3857"), -73.98765, 40.74321)
    to_local = Transformer.from_crs("EPSG:4326", local, always_xy=True)
    x, y = to_local.transform([-73.99, -73.98], [40.74, 40.745])
    true = Geod(ellps="WGS84").inv(-73.99, 40.74, -73.98, 40.745)[2]
    assert np.hypot(x[1] - x[0], y[1] - y[0]) == pytest.approx(true, rel=1e-6)
    assert to_local.transform(-73.99, 40.74) == pytest.approx((0.0, 0.0), abs=1e-6)
    assert local.name == "Transverse Mercator at 40.74, -73.99"
