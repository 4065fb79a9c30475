"""Water of gardens as built, by their own figures and by the rules of their lots."""

import numpy as np
import pandas as pd
import pytest

from screening.area import AreaContext
from screening.rules import Rules
from screening.season.built import as_built_water
from screening.water.year import mean_year, rain_years
from tests.siting.lots import CRS_METRE

STARTS = pd.Timestamp("2001-01-01") + pd.to_timedelta(np.arange(365), unit="D")
RAIN = pd.DataFrame({"start": STARTS, "step_h": 24.0, "depth_mm": np.where(np.arange(365) % 5 == 0, 40.0, 0.0)})
YEARS = rain_years(RAIN, least_years=1)


def built(own_rules=None, rules=None):
    """Two gardens of 6 m2 for 60 m2 of roof: lot a with 150 mm of pond and 300 mm of bed, lot b with 100 and 600."""
    rows = pd.DataFrame(
        {
            "lot_id": ["a", "b", "c"],
            "built_ponding_area_m2": [6.0, 6.0, np.nan],
            "built_area_treated_m2": [60.0, 60.0, np.nan],
            "built_ponding_depth_mm": [150.0, 100.0, np.nan],
            "built_bed_depth_mm": [300.0, 600.0, np.nan],
        }
    )
    lots = pd.DataFrame({"drain_reach_share": [0.5] * 3, "ksat_spot_um_s": [0.3] * 3})
    spots = pd.DataFrame({"draining_area_m2": [60.0] * 3, "kept_share": [0.8] * 3})
    rules = rules or Rules()
    context = AreaContext(rules, CRS_METRE, frozenset(), rain_years=YEARS, own_rules=own_rules or {})
    return as_built_water(rows, lots, spots, context)


def test_water_by_the_figures_of_what_was_built():
    found = built()
    # area x (pond + voids x bed) / (Rv x area treated): 6 x 270 / 57 and 6 x 340 / 57
    assert found["built_capture_depth_mm"].tolist() == pytest.approx([28.421, 35.789, np.nan], abs=1e-3, nan_ok=True)
    # 38 mm of rain, of which they hold 28.4 and 35.8: Rv x treated x that depth
    assert found["built_storm_captured_m3"].tolist() == pytest.approx([1.62, 2.04, np.nan], nan_ok=True)
    assert found["built_storm_kept_m3"].tolist() == pytest.approx([0.8 * 1.62, 0.8 * 2.04, np.nan], nan_ok=True)
    one = mean_year(YEARS, 60.0, 60.0, 6.0, 1.08, 0.8, Rules(ponding_depth_mm=100.0, bed_depth_mm=600.0))
    assert found.loc[1, "built_year_captured_m3"] == one.loc[0, "year_captured_m3"] > 0
    assert found.loc[1, "built_year_kept_m3"] == one.loc[0, "year_kept_m3"]
    assert np.isnan(found.loc[2, "built_year_kept_m3"])


def test_the_void_fraction_is_that_of_the_lot():
    own = built({"b": {"void_fraction": 0.25}})
    plain, everywhere = built(), built(rules=Rules(void_fraction=0.25))
    pd.testing.assert_series_equal(own.loc[0], plain.loc[0])
    pd.testing.assert_series_equal(own.loc[1], everywhere.loc[1])
    assert own.loc[1, "built_capture_depth_mm"] == pytest.approx(6 * (100 + 0.25 * 600) / 57)
    assert own.loc[1, "built_year_captured_m3"] < plain.loc[1, "built_year_captured_m3"]


def test_lawn_that_runs_on_takes_its_part_of_what_was_built():
    """2.166 m3 of roof water and 1 m3 of lawn water come to a garden of 1.62 m3; in the year nothing changes."""
    rows = pd.DataFrame(
        {
            "lot_id": ["a", "b"],
            "built_ponding_area_m2": [6.0, 6.0],
            "built_area_treated_m2": [60.0, 60.0],
            "built_ponding_depth_mm": [150.0, 100.0],
            "built_bed_depth_mm": [300.0, 600.0],
        }
    )
    lots = pd.DataFrame({"drain_reach_share": [0.5] * 2, "ksat_spot_um_s": [0.3] * 2})
    spots = pd.DataFrame({"draining_area_m2": [60.0] * 2, "kept_share": [0.8] * 2, "run_on_m3": [1.0, np.nan]})
    asked = AreaContext(Rules(run_on=True), CRS_METRE, frozenset(), rain_years=YEARS)
    found = as_built_water(rows, lots, spots, asked)
    assert found["built_storm_captured_m3"][0] == pytest.approx(1.62 * 2.166 / 3.166)
    assert np.isnan(found["built_storm_captured_m3"][1])
    assert found["built_year_captured_m3"].tolist() == built()["built_year_captured_m3"].tolist()[:2]
