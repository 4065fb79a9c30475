from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from screening.grid import NODATA
from screening.siting import lot_ground as module
from screening.siting.kernels import lot_sums
from screening.siting.lot_ground import flow_direction_deg, lot_ground
from screening.siting.open_ground import ground_mask
from tests.siting.lots import make_block, standard_lot


def measured(change=None, **arguments):
    block, context = make_block(**arguments)
    if change is not None:
        block = replace(block, rasters={**block.rasters, **change(block.rasters)})
    return lot_ground(block, ground_mask(block, context))


@pytest.mark.parametrize(
    ("plane", "degrees"), [((0, 0.03), 180), ((0, -0.03), 0), ((0.03, 0), 270), ((-0.02, 0.02), 135)]
)
def test_a_plane_sheds_down_its_slope(plane, degrees):
    row = measured(plane=plane, **standard_lot()).iloc[0]
    assert row["flow_direction_deg"] == pytest.approx(degrees, abs=0.01)
    assert row["slope_lot_pct"] == pytest.approx(100 * np.hypot(*plane))
    assert row["lot_area_m2"] == pytest.approx(800.0)
    assert row["assessed_share"] == 1.0


def test_ground_that_sheds_every_way_has_no_direction():
    def knoll(x, y):
        return -0.05 * np.hypot(x - 10, y - 20)

    assert np.isnan(measured(ground=knoll, **standard_lot())["flow_direction_deg"][0])
    assert np.isnan(measured(plane=(0, 0.001), **standard_lot())["flow_direction_deg"][0])


def test_direction_needs_a_clear_mean():
    degrees = flow_direction_deg(
        np.array([0.0, 0.0, 0.001]), np.array([-0.02, -0.02, 0]), np.array([0.03, 0.05, 0.001])
    )
    assert degrees[0] == 0.0
    assert np.isnan(degrees[1:]).all()


def test_paving_counts_once_where_it_overlaps_and_is_missing_when_not_given():
    paved = [box(0, 0, 3, 12), box(0, 0, 10, 2)]
    assert measured(paved=paved, **standard_lot())["paved_area_m2"][0] == pytest.approx(36 + 14)
    assert np.isnan(measured(**standard_lot())["paved_area_m2"][0])


def test_paving_under_a_roof_is_roof():
    """A drive 3 m wide that runs 4 m on under the house's roof (eaves from y = 12)."""
    measured_m2 = measured(paved=[box(5, 0, 8, 16)], **standard_lot())["paved_area_m2"][0]
    assert measured_m2 == pytest.approx(3 * 12)


def test_what_was_not_assessed_is_told_and_not_averaged():
    def hole(rasters):
        state, heights = rasters["state"].copy(), rasters["heights_m"].copy()
        state[20:30], heights[20:30] = NODATA, np.nan
        return {"state": state, "heights_m": heights}

    row = measured(hole, plane=(0, 0.03), **standard_lot()).iloc[0]
    assert row["assessed_share"] == pytest.approx(0.75)
    assert row["slope_lot_pct"] == pytest.approx(3.0)


def test_a_lot_half_off_the_raster_is_half_assessed():
    block, context = make_block(plane=(0, 0.03), **standard_lot())
    rasters = {name: values[:, :30] for name, values in block.rasters.items()}
    block = replace(block, rasters={name: np.ascontiguousarray(values) for name, values in rasters.items()})
    assert lot_ground(block, ground_mask(block, context))["assessed_share"][0] == pytest.approx(0.5)


def test_compiled_and_plain_agree(monkeypatch):
    lot = {"plane": (0.01, 0.03), "noise_m": 0.05, "paved": [box(0, 0, 3, 12)], **standard_lot()}
    fast = measured(**lot)
    monkeypatch.setattr(module, "sum_cells", lot_sums.sum_cells.py_func)
    monkeypatch.setattr(module, "sum_open", lot_sums.sum_open.py_func)
    assert measured(**lot).equals(fast)
