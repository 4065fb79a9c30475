"""Mean year: a water balance of every garden over the whole rain record, at the record's own step.

A garden is one store, the pond over the voids of the bed, filled by what its draining area sheds and emptied into the
ground below the bed; what does not fit overflows. Within a step rain and infiltration are taken as steady, so that a
daily step spreads each storm over its day: capture from a daily record comes out larger than from an hourly one. Rain
on the garden itself and what its plants use are left out: they are small and work against each other. Run-on from lawn
is left out too, whatever the rules ask of the storm: the year is roof water alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from screening.errors import BadInput, Fault
from screening.rules import Rules
from screening.water.kernels.balance import balance
from screening.water.sizing import storage_depth_mm

__all__ = ["DAY_VALID_SHARE", "YEAR_COLUMNS", "RainYears", "balance_of_gardens", "mean_year", "rain_years"]

Floats = NDArray[np.float64]

YEAR_COLUMNS: Final = ("year_runoff_m3", "year_captured_m3", "year_kept_m3")
DAY_VALID_SHARE: Final = 0.9
"""Share of a day's hours that must have a value for the day to be valid."""
LEAST_DAYS: Final = 350
LEAST_YEARS: Final = 5


@dataclass(frozen=True, eq=False)
class RainYears:
    """A rain record made ready for the balance: dry steps joined, years counted.

    Parameters
    ----------
    rain_mm, step_h
        Depth and length of each step; dry and missing time in a row is one step. [mm], [h]
    year
        Position in ``years`` of the year each wet step counts for, -1 for none.
    years
        Calendar years with enough valid days.
    annual_mm
        Rain of each of these, scaled from its valid days to the whole year. [mm]
    scale
        Days in the year over valid days, of each.
    left_out
        Calendar years of the record that have too few valid days.
    """

    rain_mm: Floats
    step_h: Floats
    year: NDArray[np.int64]
    years: tuple[int, ...]
    annual_mm: Floats
    scale: Floats
    left_out: tuple[int, ...]


def rain_years(record: pd.DataFrame, *, least_days: int = LEAST_DAYS, least_years: int = LEAST_YEARS) -> RainYears:
    """Make a record ready for the balance.

    Parameters
    ----------
    record
        Columns ``start`` (local standard time), ``step_h`` and ``depth_mm`` (NaN where missing), sorted.
    least_days
        Valid days that a calendar year needs to count.
    least_years
        Such years that the record needs.

    Raises
    ------
    BadInput
        When the record has fewer such years.
    """
    start = pd.DatetimeIndex(record["start"])
    step_h = record["step_h"].to_numpy(dtype=np.float64)
    depth_mm = record["depth_mm"].to_numpy(dtype=np.float64)
    known = ~np.isnan(depth_mm)
    hours = pd.Series(np.where(known, step_h, 0.0), index=start).groupby(start.normalize()).sum()
    valid = hours >= DAY_VALID_SHARE * 24.0
    days = valid.groupby(pd.DatetimeIndex(valid.index).year).sum()
    years = tuple(int(year) for year in days.index[days >= least_days])
    left_out = tuple(int(year) for year in days.index[days < least_days])
    if len(years) < least_years:
        found = f"{len(years)} calendar years with {least_days} valid days or more"
        fault = f"the rain record has {found}, {least_years} needed"
        raise BadInput([Fault(fault, "give a longer record, or a storm depth only", layer="rainfall")])
    position = pd.Index(years).get_indexer(pd.Index(start.year)).astype(np.int64)
    counted = known & (position >= 0)
    length = np.array([366.0 if pd.Timestamp(year, 1, 1).is_leap_year else 365.0 for year in years])
    scale = length / days.reindex(list(years)).to_numpy(dtype=np.float64)
    rain = np.nan_to_num(depth_mm)
    annual = np.bincount(position[counted], rain[counted], len(years)) * scale
    return RainYears(*_joined(start, rain, step_h, position), years, annual, scale, left_out)


def _joined(
    start: pd.DatetimeIndex, rain_mm: Floats, step_h: Floats, year: NDArray[np.int64]
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Steps with each run of dry time, and each hole between steps, joined into one."""
    hours = (start - start[0]) / pd.Timedelta(hours=1)
    begins = np.asarray(hours, dtype=np.float64)
    hole = np.append(np.maximum(begins[1:] - (begins[:-1] + step_h[:-1]), 0.0), 0.0)
    wet = rain_mm > 0.0
    rain: Floats = np.column_stack([rain_mm, np.zeros_like(rain_mm)]).ravel()
    length = np.column_stack([np.where(wet, step_h, 0.0), hole + np.where(wet, 0.0, step_h)]).ravel()
    years = np.repeat(year, 2)
    kept = length > 0.0
    rain, length, years = rain[kept], length[kept], years[kept]
    first = np.append(True, (rain[1:] > 0.0) | (rain[:-1] > 0.0))
    joined = np.bincount(np.cumsum(first) - 1, length)
    return rain[first], joined.astype(np.float64), years[first].astype(np.int64)


def balance_of_gardens(
    rain: RainYears,
    draining_area_m2: ArrayLike,
    ponding_area_m2: ArrayLike,
    infiltration_mm_h: ArrayLike,
    *,
    runoff_coefficient: float,
    storage_mm: ArrayLike,
) -> tuple[Floats, Floats]:
    """Balance of gardens over the whole record.

    Parameters
    ----------
    rain
        The record.
    draining_area_m2, ponding_area_m2
        Of each garden, above zero. [m2]
    infiltration_mm_h
        Infiltration of the ground below each. [mm/h]
    runoff_coefficient
        Volumetric runoff coefficient of the draining area.
    storage_mm
        Depth of water that each holds over its ponding area (``sizing.storage_depth_mm``). [mm]

    Returns
    -------
    overflow_m3
        Overflow by garden and year of ``rain.years``, as it fell, shape (n, years). [m3]
    totals_m3
        Inflow, infiltration, overflow and final storage of the whole record, shape (n, 4); the first is the sum of the
        others. [m3]
    """
    draining, area, rate, storage = (
        np.array(values, dtype=np.float64, order="C")
        for values in np.broadcast_arrays(draining_area_m2, ponding_area_m2, infiltration_mm_h, storage_mm)
    )
    overflow = np.zeros((len(area), len(rain.years)))
    totals = np.zeros((len(area), 4))
    ratio = runoff_coefficient * draining / area
    balance(rain.rain_mm, rain.step_h, rain.year, ratio, storage, rate, overflow, totals)
    return overflow * area[:, None] / 1000.0, totals * area[:, None] / 1000.0


def mean_year(
    rain: RainYears,
    impervious_area_m2: ArrayLike,
    draining_area_m2: ArrayLike,
    ponding_area_m2: ArrayLike,
    infiltration_mm_h: ArrayLike,
    drain_reach: ArrayLike,
    rules: Rules,
) -> pd.DataFrame:
    """Shed, captured and kept in a mean year, one row a lot or candidate.

    Parameters
    ----------
    rain
        The record, of ``rain_years``.
    impervious_area_m2
        Roofs and paving of the lot. [m2]
    draining_area_m2
        Of these, led to the garden; NaN or 0 where there is no garden. [m2]
    ponding_area_m2
        The garden. [m2]
    infiltration_mm_h
        Design infiltration at its spot; NaN where unknown, and capture is unknown then. [mm/h]
    drain_reach
        Share of the water led that would otherwise reach the drain.
    rules
        Runoff coefficient, depths and void fraction.

    Returns
    -------
    pandas.DataFrame
        ``year_runoff_m3``, ``year_captured_m3`` (0 without a garden), ``year_kept_m3``. Each year counts for itself,
        scaled from its valid days to its length.
    """
    impervious, draining, area, rate, reach = (
        np.atleast_1d(np.array(values, dtype=np.float64))
        for values in np.broadcast_arrays(
            impervious_area_m2, draining_area_m2, ponding_area_m2, infiltration_mm_h, drain_reach
        )
    )
    shed_mm = rules.runoff_coefficient * float(rain.annual_mm.mean())
    garden = (np.nan_to_num(draining) > 0) & (np.nan_to_num(area) > 0)
    run = np.flatnonzero(garden & ~np.isnan(rate))
    captured = np.where(garden, np.nan, 0.0)
    overflow_m3, _ = balance_of_gardens(
        rain,
        draining[run],
        area[run],
        rate[run],
        runoff_coefficient=rules.runoff_coefficient,
        storage_mm=storage_depth_mm(rules.ponding_depth_mm, rules.bed_depth_mm, rules.void_fraction),
    )
    inflow_m3 = shed_mm * draining[run] / 1000.0
    captured[run] = np.maximum(inflow_m3 - (overflow_m3 * rain.scale).mean(axis=1), 0.0)
    kept = np.where(garden, captured * reach, 0.0)
    return pd.DataFrame(dict(zip(YEAR_COLUMNS, (shed_mm * impervious / 1000.0, captured, kept), strict=True)))
