import numpy as np
import pytest
import shapely

from tests.siting.lots import make_block, placed, standard_lot


def test_a_plane_has_its_slope_and_its_heights():
    block, _ = make_block(plane=(0.0, 0.03), **standard_lot())
    assert block.shape == (80, 60)
    assert block.rasters["slope_pct"] == pytest.approx(3.0)
    assert block.rasters["dz_dy"] == pytest.approx(0.03)
    row, column = 80 - 20 - 1, 20
    assert block.rasters["heights_m"][row, column] == pytest.approx(100 + 0.03 * 0.5)
    assert set(np.unique(block.rasters["direction"][1:-1, 1:-1])) >= {4}


def test_four_corner_downspouts_of_a_quarter_each():
    block, _ = make_block(plane=(0.0, 0.03), **standard_lot())
    spouts = block.tables["downspouts"]
    assert sorted((p.x, p.y) for p in spouts.geometry) == [(4, 12), (4, 22), (16, 12), (16, 22)]
    assert spouts["share_m2"].tolist() == [30.0] * 4


def test_a_turned_block_has_the_same_ground_under_the_same_things():
    flat, _ = make_block(plane=(0.01, 0.03), **standard_lot())
    turned, _ = make_block(plane=(0.01, 0.03), turn_deg=30, shift_m=(5, 7), **standard_lot())
    corner = placed(shapely.Point(20, 40), 30, (5, 7))
    assert turned.lots.geometry[0].distance(corner) == pytest.approx(0, abs=1e-9)
    assert turned.rasters["slope_pct"].mean() == pytest.approx(flat.rasters["slope_pct"].mean())
    column = int(corner.x - turned.transform.c)
    row = int(turned.transform.f - corner.y)
    assert turned.rasters["heights_m"][row, column] == pytest.approx(100 + 0.2 + 1.2, abs=0.04)


def test_a_bowl_is_wet_and_its_rim_is_not():
    def bowl(x, y):
        return -np.clip(0.25 * (1 - ((x - 10) ** 2 + (y - 33) ** 2) / 16), 0, None)

    block, _ = make_block(plane=(0.0, 0.0), ground=bowl, **standard_lot())
    assert block.rasters["hollow_depth_m"].max() == pytest.approx(0.25, abs=0.02)
    assert 35 < block.rasters["wet"].sum() <= 52
