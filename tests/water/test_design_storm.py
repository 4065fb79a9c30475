import numpy as np
import pandas as pd
import pytest

from screening.errors import BadInput
from screening.units import INCH_MM
from screening.water.design_storm import (
    daily_depths_mm,
    frequency_depth_mm,
    percentile_storm_mm,
    read_frequency_table,
)

DAYS_IN = [
    0,
    0.05,
    0.10,
    0.11,
    0.2,
    0.25,
    0.3,
    0.35,
    0.4,
    0.45,
    0.5,
    0.6,
    0.7,
    0.8,
    0.9,
    1.0,
    1.1,
    1.2,
    1.3,
    1.5,
    1.8,
    2,
    3,
]

# layout as captured from the weather service; the rows of 60 min and 24 h as printed for one place
TABLE = """\
Point precipitation frequency estimates (inches)
NOAA Atlas 14 Volume 9 Version 2
Data type: Precipitation depth
Time series type: Partial duration
Project area: made up
Latitude: 1.0 Degree
Longitude: -1.0 Degree


PRECIPITATION FREQUENCY ESTIMATES
by duration for ARI (years):, 1,2,5,10,25,50,100,200,500,1000
60-min:, 2.14,2.38,2.79,3.13,3.62,4.00,4.38,4.78,5.32,5.74
24-hr:, 4.01,4.76,6.09,7.28,9.05,10.5,12.1,13.7,16.1,18.0

PRECIPITATION FREQUENCY ESTIMATES, upper bound
by duration for ARI (years):, 1,2,5,10,25,50,100,200,500,1000
24-hr:, 5.01,5.76,7.09,8.28,10.05,11.5,13.1,14.7,17.1,19.0
"""


def test_percentiles_of_rain_days_over_a_tenth_of_an_inch():
    # EPA 841-B-09-001 (the cut from memory), computed: 20 days are kept
    depths = np.array(DAYS_IN) * INCH_MM
    found = [percentile_storm_mm(depths, percentile) / INCH_MM for percentile in (80, 85, 90, 95)]
    assert found == pytest.approx([1.340, 1.545, 1.820, 2.050])


def test_the_cut_in_tenths_of_a_millimetre():
    assert percentile_storm_mm(np.array([25, 26, 26]) / 10, 0) == pytest.approx(2.6)
    assert percentile_storm_mm([0.1 * INCH_MM, 50.0, np.nan], 0) == 50.0
    with pytest.raises(ValueError, match="no day"):
        percentile_storm_mm([0.0, 2.0])


def test_days_of_an_hourly_record():
    start = pd.Timestamp("2020-05-01") + pd.to_timedelta(np.arange(48), unit="h")
    record = pd.DataFrame({"start": start, "step_h": 1.0, "depth_mm": 0.5})
    record.loc[30, "depth_mm"] = np.nan
    assert daily_depths_mm(record).tolist() == pytest.approx([12.0, np.nan], nan_ok=True)


def test_a_precipitation_frequency_table(tmp_path):
    path = tmp_path / "table.csv"
    path.write_text(TABLE, encoding="utf-8")
    table = read_frequency_table(path)
    assert table.index.tolist() == [1.0, 24.0]
    assert frequency_depth_mm(table, 2) / INCH_MM == pytest.approx(4.76)
    assert frequency_depth_mm(table, 10) / INCH_MM == pytest.approx(7.28)
    assert frequency_depth_mm(table, 1, 1.0) / INCH_MM == pytest.approx(2.14)
    with pytest.raises(ValueError, match="no depth for 24 h and 3 years"):
        frequency_depth_mm(table, 3)
    with pytest.raises(ValueError, match="no depth for 6 h"):
        frequency_depth_mm(table, 2, 6.0)


def test_a_table_in_millimetres_and_one_that_is_none(tmp_path):
    path = tmp_path / "table.csv"
    path.write_text(TABLE.replace("(inches)", "(millimeters)"), encoding="utf-8")
    assert frequency_depth_mm(read_frequency_table(path), 2) == pytest.approx(4.76)
    for text in ("Point precipitation frequency estimates (inches)\nnot covered\n", ""):
        path.write_text(text, encoding="utf-8")
        with pytest.raises(BadInput, match="no table of precipitation frequency"):
            read_frequency_table(path)
