import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from affine import Affine

from screening.area import AreaContext, Block, empty_rasters
from screening.rules import Rules
from screening.water import lot_water
from screening.water.year import rain_years


def block():
    lots = gpd.GeoDataFrame({"lot_id": ["a", "b", "c"]}, geometry=[shapely.box(k, 0, k + 1, 1) for k in range(3)])
    tables = {
        "roof_pieces": pd.DataFrame({"lot_id": ["a", "a", "b"], "area_m2": [80.0, 40.0, 100.0]}),
        "lot_ground": pd.DataFrame({"lot_id": ["a", "b", "c"], "paved_area_m2": [30.0, np.nan, np.nan]}),
        "candidates": pd.DataFrame(
            {
                "lot_id": ["a", "a", "b"],
                "chosen": [True, False, False],
                "draining_area_m2": [60.0, 120.0, 100.0],
                "ponding_area_m2": [8.0, 16.0, 13.0],
                "capture_depth_mm": [38.0, 38.0, 38.0],
                "kept_share": [0.5, 1.0, 1.0],
                "ksat_um_s": [8.0 / 3.6, 8.0 / 3.6, 8.0 / 3.6],
            }
        ),
    }
    return Block(lots, {"lots": lots}, Affine(1, 0, 0, 0, -1, 1), empty_rasters((1, 3)), tables=tables)


def test_each_lot_gets_its_water_in_the_block_s_order():
    rows = lot_water(block(), AreaContext(Rules(), crs=None, given=frozenset()))["lot_water"]
    assert rows["lot_id"].tolist() == ["a", "b", "c"]
    assert rows["storm_runoff_m3"].tolist() == [5.42, 3.61, 0.0]  # to 0.01
    assert rows["storm_captured_m3"].tolist() == pytest.approx([2.166, 0.0, 0.0])
    assert rows["storm_kept_m3"].tolist() == pytest.approx([1.083, 0.0, 0.0])
    assert rows["year_captured_m3"].isna().all()


def test_a_rain_record_gives_the_mean_year():
    days = pd.DataFrame({"start": pd.date_range("2001-01-01", "2005-12-31"), "step_h": 24.0, "depth_mm": 0.0})
    days.loc[days["start"].dt.day.eq(1), "depth_mm"] = 20.0  # twelve days of 20 mm a year, all held
    context = AreaContext(Rules(), crs=None, given=frozenset({"rainfall"}), rain_years=rain_years(days))
    rows = lot_water(block(), context)["lot_water"]
    assert rows["year_runoff_m3"].tolist() == pytest.approx([0.95 * 0.24 * 150, 0.95 * 0.24 * 100, 0.0])
    assert rows["year_captured_m3"].tolist() == pytest.approx([0.95 * 0.24 * 60, 0.0, 0.0])
    assert rows["year_kept_m3"].tolist() == pytest.approx([0.95 * 0.24 * 30, 0.0, 0.0])


def test_two_gardens_on_a_lot_both_count():
    """Lot a leads 60 m2 to its spot and 75 m2 more to a second garden; what both hold is never more than is shed."""
    made = block()
    candidates = made.tables["candidates"].assign(second=[False, True, False])
    for area, held in ((75.0, 2.166 + 0.0361 * 75), (120.0, 5.42)):
        candidates["draining_area_m2"] = [60.0, area, 100.0]
        two = made.with_tables({"candidates": candidates})
        rows = lot_water(two, AreaContext(Rules(), crs=None, given=frozenset()))["lot_water"]
        assert rows["storm_captured_m3"].tolist() == pytest.approx([held, 0.0, 0.0])
        assert rows["storm_kept_m3"][0] == pytest.approx(min(1.083 + 0.0361 * area, 5.42))
        assert rows["storm_runoff_m3"][0] == 5.42
        assert rows["year_kept_m3"].isna().all()
