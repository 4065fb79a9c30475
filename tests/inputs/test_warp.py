import numpy as np
import pytest
from affine import Affine
from pyproj import CRS, Geod, Transformer

from screening.inputs.warp import bilinear, covering_grid, pasted, target_cell_m, warp_heights
from screening.inputs.working_crs import local_crs

DEGREES = CRS("EPSG:4326")
LOCAL = local_crs(DEGREES, 10.0, 47.0)


def test_the_new_cell_is_the_geometric_mean_of_the_true_sides():
    step = 1 / 10_800  # a third of an arc second
    transform = Affine(step, 0, 10.0 - 50 * step, 0, -step, 47.0 + 50 * step)
    wide = Geod(ellps="WGS84").inv(10.0 - step / 2, 47.0, 10.0 + step / 2, 47.0)[2]
    high = Geod(ellps="WGS84").inv(10.0, 47.0 - step / 2, 10.0, 47.0 + step / 2)[2]
    expected = round(float(np.sqrt(wide * high)), 2)
    assert target_cell_m((100, 100), transform, DEGREES, LOCAL) == expected
    assert 7.03 < wide < 7.05
    assert 10.28 < high < 10.30


def test_a_plane_stays_a_plane_and_edges_are_missing():
    step = 1 / 36_000
    shape = (120, 100)
    transform = Affine(step, 0, 10.0, 0, -step, 47.01)
    columns, rows = np.meshgrid(np.arange(100) + 0.5, np.arange(120) + 0.5)
    to_local = Transformer.from_crs(DEGREES, LOCAL, always_xy=True)
    x, y = to_local.transform(*(transform @ (columns, rows)))
    values = 100 + 0.03 * x - 0.05 * y
    cell = target_cell_m(shape, transform, DEGREES, LOCAL)
    new_shape, onto = covering_grid(shape, transform, DEGREES, LOCAL, cell)
    warped = warp_heights(values, transform, DEGREES, shape=new_shape, onto=onto, target=LOCAL)
    new_columns, new_rows = np.meshgrid(np.arange(new_shape[1]) + 0.5, np.arange(new_shape[0]) + 0.5)
    new_x, new_y = onto @ (new_columns, new_rows)
    inside = np.zeros(new_shape, dtype=bool)
    inside[3:-3, 3:-3] = True
    inside &= np.isfinite(warped)
    np.testing.assert_allclose(warped[inside], (100 + 0.03 * new_x - 0.05 * new_y)[inside], atol=1e-4)
    assert inside.sum() > 0.9 * (new_shape[0] - 6) * (new_shape[1] - 6)
    assert onto.c % cell == pytest.approx(0, abs=1e-6) or onto.c % cell == pytest.approx(cell, abs=1e-6)


def test_bilinear_by_hand():
    values = np.array([[0.0, 10.0], [20.0, np.nan]])
    column, row = np.array([0.5, 1.0, 0.75, 0.5, 1.0, 0.2]), np.array([0.5, 0.5, 0.5, 1.25, 1.0, 0.5])
    found = bilinear(values, column, row)
    np.testing.assert_allclose(found[:4], [0, 5, 2.5, 15])
    assert np.isnan(found[4:]).all()


def test_missing_cells_do_not_bleed():
    crs = CRS("EPSG:32606")
    values = np.full((20, 20), 50.0)
    values[8:12, 8:12] = np.nan
    turned = Affine(1, 0, 500_000, 0, -1, 6_300_000) @ Affine.rotation(20)
    shape, onto = covering_grid((20, 20), turned, crs, crs, 1.0)
    warped = warp_heights(values, turned, crs, shape=shape, onto=onto, target=crs)
    np.testing.assert_allclose(warped[np.isfinite(warped)], 50.0)
    x, y = turned @ (10, 10)
    column, row = ~onto @ (x, y)
    assert np.isnan(warped[int(row), int(column)])


def test_pasting_copies_cells_and_refuses_another_lattice():
    values = np.arange(6.0).reshape(2, 3)
    here = Affine(2, 0, 100, 0, -2, 50)
    onto = Affine(2, 0, 98, 0, -2, 50)
    np.testing.assert_array_equal(pasted(values, here, shape=(1, 3), onto=onto), [[np.nan, 0, 1]])
    away = pasted(values, here, shape=(2, 2), onto=Affine(2, 0, 300, 0, -2, 50))
    assert np.isnan(away).all()
    assert pasted(values, here, shape=(2, 3), onto=Affine(2, 0, 99, 0, -2, 50)) is None
    assert pasted(values, here, shape=(2, 3), onto=Affine(1, 0, 100, 0, -1, 50)) is None
