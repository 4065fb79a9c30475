import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

from screening.rules import Rules
from screening.streets import curve_table as module
from screening.streets.curve_table import WHOLE_AREA, curve_table
from screening.streets.totals import NO_STREET


def lots(kept, street, verdict="approach"):
    return gpd.GeoDataFrame(
        {"verdict": verdict, "street": street, "storm_kept_m3": pd.array(kept, dtype="Float64")}, index=range(len(kept))
    )


def test_a_curve_of_each_street_and_of_all():
    table = curve_table(lots([3.0, None, 1.0, 2.0], ["B", "B", None, "A"]), Rules())
    best = {name: rows["best_m3"].tolist() for name, rows in table.groupby("street", sort=False)}
    assert best == {WHOLE_AREA: [0, 3, 5, 6, 6], NO_STREET: [0, 1], "A": [0, 2], "B": [0, 3, 3]}
    ends = table.groupby("street").tail(1)
    assert (ends["best_m3"] == ends["low_m3"]).all()
    assert (table["low_m3"] <= table["median_m3"]).all()
    assert (table["median_m3"] <= table["high_m3"]).all()
    assert (table["high_m3"] <= table["best_m3"] + 0.01).all()


def test_ruled_out_lots_have_no_garden_and_an_area_may_have_none():
    table = curve_table(lots([3.0, 1.0], ["A", "A"], ["ruled out", "approach"]), Rules())
    assert table.loc[table["street"] == "A", "best_m3"].tolist() == [0, 1]
    none = curve_table(lots([3.0], ["A"], "ruled out"), Rules())
    assert none[["street", "gardens", "best_m3"]].to_numpy().tolist() == [[WHOLE_AREA, 0, 0.0]]


def test_a_long_curve_is_thinned_and_keeps_its_ends(monkeypatch):
    monkeypatch.setattr(module, "WHOLE_STEPS", 5)
    table = curve_table(lots(np.arange(1.0, 41.0), "A"), Rules())
    whole = table[table["street"] == WHOLE_AREA]
    assert whole["gardens"].tolist() == [0, 10, 20, 30, 40]
    assert whole["best_m3"].tolist()[-1] == pytest.approx(820.0)
    assert (table["street"] == "A").sum() == 41
