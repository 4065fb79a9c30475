import geopandas as gpd
import pandas as pd
import pytest
from shapely.geometry import LineString, box

from screening.rules import Rules
from screening.streets.totals import NO_STREET, street_totals


def lots_table():
    return gpd.GeoDataFrame(
        {
            "lot_id": list("abcd"),
            "street": ["First", "First", None, "Second"],
            "verdict": ["approach", "ruled out", "look closer", "test soil first"],
            "roof_area_m2": [100.0, 200.0, 50.0, 80.0],
            "storm_runoff_m3": [4.0, 8.0, 2.0, 3.0],
            "storm_captured_m3": pd.array([3.0, None, 1.0, 2.0], dtype="Float64"),
            "storm_kept_m3": pd.array([2.0, None, 0.5, 2.0], dtype="Float64"),
            "year_runoff_m3": pd.array([None] * 4, dtype="Float64"),
            "year_captured_m3": pd.array([None] * 4, dtype="Float64"),
            "year_kept_m3": pd.array([None] * 4, dtype="Float64"),
        },
        geometry=[box(0, 0, 1, 1)] * 4,
        crs="EPSG:32631",
    )


def test_totals_by_street_add_up_to_totals_by_lot():
    lots = lots_table()
    streets = gpd.GeoDataFrame({"street": ["First"]}, geometry=[LineString([(0, 0), (5, 0)])], crs=lots.crs)
    table = street_totals(lots, streets, Rules())
    assert table["street"].tolist() == [NO_STREET, "First", "Second"]
    first = table.set_index("street").loc["First"]
    assert (first["lots"], first["feasible"], first["approach"], first["ruled_out"]) == (2, 1, 1, 1)
    assert first["storm_runoff_m3"] == 12.0
    assert first["storm_kept_m3"] == 2.0
    assert first["storm_kept_share"] == pytest.approx(2 / 12, abs=5e-4)
    assert table["storm_runoff_m3"].sum() == lots["storm_runoff_m3"].sum()
    assert table["lots"].sum() == 4
    assert pd.isna(first["year_kept_m3"])
    assert first.geometry.length == 5


def test_a_street_without_any_garden_keeps_an_unknown_amount():
    lots = lots_table()
    lots["verdict"] = "ruled out"
    lots["storm_kept_m3"] = pd.array([None] * 4, dtype="Float64")
    first = street_totals(lots, None, Rules()).set_index("street").loc["First"]
    assert pd.isna(first["storm_kept_m3"])
    assert pd.isna(first["storm_kept_share"])
    assert pd.isna(first["gardens_for_share"])


def test_gardens_for_the_wanted_share_the_best_first_and_as_they_come():
    lots = gpd.GeoDataFrame(pd.concat([lots_table()] * 2, ignore_index=True), crs="EPSG:32631")
    lots["street"], lots["verdict"] = "First", "approach"
    lots["storm_kept_m3"] = [5.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0]
    half = street_totals(lots, None, Rules()).iloc[0]
    most = street_totals(lots, None, Rules(wanted_share=0.9)).iloc[0]
    assert (half["gardens_for_share"], most["gardens_for_share"]) == (2, 7)
    assert half["gardens_for_share_random"] >= half["gardens_for_share"]
    assert most["gardens_for_share_random"] >= 7


def test_gardens_of_lots_that_are_ruled_out_count_for_nothing():
    lots = lots_table()
    lots["storm_captured_m3"] = [3.0, 9.0, 1.0, 2.0]
    lots["storm_kept_m3"] = [2.0, 9.0, 0.5, 2.0]
    first = street_totals(lots, None, Rules()).set_index("street").loc["First"]
    assert (first["storm_captured_m3"], first["storm_kept_m3"]) == (3.0, 2.0)
    assert first["storm_runoff_m3"] == 12.0
