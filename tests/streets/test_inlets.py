import geopandas as gpd
import pandas as pd
import pytest
from shapely.geometry import Point, box

from screening.streets.inlets import NO_INLET, inlet_totals

INLETS = gpd.GeoDataFrame({"inlet_id": ["I1", "I2", "I3"]}, geometry=[Point(n, 0) for n in range(3)], crs="EPSG:32631")
SUMS = ("storm_runoff_m3", "storm_captured_m3", "storm_kept_m3", "year_runoff_m3", "year_captured_m3", "year_kept_m3")


def town():
    """Lot a sheds to two inlets, its garden takes the first's; b to none; c, ruled out, and d have no downspout."""
    lots = gpd.GeoDataFrame(
        {
            "lot_id": list("abcd"),
            "verdict": ["approach", "look closer", "ruled out", "approach"],
            "inlet": ["I1", None, "I2", "I2"],
            "storm_runoff_m3": [4.0, 3.0, 2.0, 1.0],
            "storm_captured_m3": pd.array([2.0, 1.0, 9.0, 0.5], dtype="Float64"),
            "storm_kept_m3": pd.array([1.0, 0.5, 9.0, 0.25], dtype="Float64"),
            "year_runoff_m3": pd.array([40.0, 30.0, 20.0, 10.0], dtype="Float64"),
            "year_captured_m3": pd.array([20.0, 10.0, 90.0, 5.0], dtype="Float64"),
            "year_kept_m3": pd.array([10.0, 5.0, 90.0, 2.5], dtype="Float64"),
        },
        geometry=[box(0, 0, 1, 1)] * 4,
        crs="EPSG:32631",
    )
    spouts = pd.DataFrame(
        {
            "downspout_id": ["a/1", "a/2", "a/3", "b/1"],
            "lot_id": ["a", "a", "a", "b"],
            "share_m2": [30.0, 30.0, 60.0, 50.0],
            "inlet": ["I1", "I1", "I2", None],
        }
    )
    candidates = pd.DataFrame(
        {
            "lot_id": ["a", "a", "b", "d"],
            "chosen": [True, False, True, True],
            "second": [False, False, False, False],
            "downspout_ids": ['["a/1", "a/2"]', '["a/3"]', '["b/1"]', None],
        }
    )
    return lots, spouts, candidates


def test_water_goes_with_its_downspouts():
    table = inlet_totals(*town(), INLETS).set_index("inlet_id")
    assert table.index.tolist() == ["I1", "I2", "I3", NO_INLET]
    assert table["storm_runoff_m3"].tolist()[:2] == [2.0, 2.0 + 2.0 + 1.0]
    assert table["storm_captured_m3"].tolist()[:2] == [2.0, 0.5]
    assert table.loc[NO_INLET, ["storm_runoff_m3", "storm_kept_m3"]].tolist() == [3.0, 0.5]
    assert table["lots"].tolist() == [1, 2, 0, 1]
    assert table["feasible"].tolist() == [1, 1, 0, 1]
    assert table.loc["I1", "storm_kept_share"] == 0.5
    assert pd.isna(table.loc["I3", "storm_runoff_m3"])
    assert pd.isna(table.loc["I3", "storm_kept_share"])


def test_a_second_garden_takes_its_own_downspouts():
    lots, spouts, candidates = town()
    candidates["second"] = [False, True, False, False]
    table = inlet_totals(lots, spouts, candidates, INLETS).set_index("inlet_id")
    assert table["storm_captured_m3"].tolist()[:2] == [1.0, 1.5]


@pytest.mark.parametrize("column", SUMS)
def test_totals_by_inlet_add_up_to_totals_by_lot(column):
    lots, spouts, candidates = town()
    counted = lots if "runoff" in column else lots[lots["verdict"] != "ruled out"]
    table = inlet_totals(lots, spouts, candidates, INLETS)
    assert table[column].sum() == pytest.approx(counted[column].sum(), abs=0.02)


def test_without_inlets_there_is_no_row():
    assert len(inlet_totals(*town(), None)) == 0


def test_ground_is_told_where_it_is_known():
    catchments = pd.DataFrame({"inlet_id": ["I2", "I1"], "area_m2": [1200.0, 350.0]})
    table = inlet_totals(*town(), INLETS, catchments).set_index("inlet_id")
    assert table["catchment_m2"].tolist()[:2] == [350.0, 1200.0]
    assert table["catchment_m2"].isna().tolist() == [False, False, True, True]
    assert inlet_totals(*town(), INLETS)["catchment_m2"].isna().all()
