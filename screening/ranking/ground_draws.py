"""Draws of the ground given the elevation data: whether water runs to each candidate, and how steep it is there.

Truth = mean + share x (measured - mean) + sqrt(share) x error, where share is the signal's variance over that of signal
and error: what was measured shrinks towards the lot's even slope, because a search over many places finds the error's
low spots.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.fields import rows_of
from screening.ranking.error_field import ErrorField, fall_share
from screening.rules import Rules
from screening.siting.spot_limits import flag, number

__all__ = ["GroundFacts", "each_least", "even_slope", "ground_facts", "shrunk"]

Floats = NDArray[np.float64]

ROUNDING_M: Final = 0.005
"""Margins by lead and by candidate differ by no more than this through rounding."""


@dataclass(frozen=True, eq=False)
class GroundFacts:
    """What the draws of the ground need, sorted by candidate.

    ``start`` (leads, 2) [m]; ``margin_m``, ``error_m``: mean and sigma of each lead's margin given the data;
    ``first_lead``: of each candidate; ``place``, ``downhill``: (candidates, 2); ``slope_pct``, ``slope_error_pct``:
    mean and sigma of each candidate's slope given the data.
    """

    start: Floats
    margin_m: Floats
    error_m: Floats
    first_lead: NDArray[np.int64]
    place: Floats
    downhill: Floats
    slope_pct: Floats
    slope_error_pct: Floats

    def draws(self, field: ErrorField, rows: slice) -> tuple[Floats, Floats]:
        """Draws at some candidates: the tightest lead's margin [m] and the slope [%], each (candidates, draws)."""
        ends = np.append(self.first_lead, len(self.margin_m))
        leads = slice(ends[rows.start], ends[rows.stop])
        first = self.first_lead[rows] - leads.start
        owner = np.repeat(np.arange(len(first)), np.diff(np.append(first, leads.stop - leads.start)))
        at_place = field.waves_at(self.place[rows])
        # several candidates of a lot are led to from one downspout
        starts, start_of = np.unique(self.start[leads] @ np.array([1.0, 1.0j]), return_inverse=True)
        at_start = field.waves_at(np.column_stack([starts.real, starts.imag]))
        error = field.between(at_start[start_of], at_place[owner])
        error *= self.error_m[leads, None]
        error += self.margin_m[leads, None]
        slope = field.along(at_place, self.downhill[rows])
        slope *= self.slope_error_pct[rows, None]
        slope += self.slope_pct[rows, None]
        return each_least(error, first), np.maximum(slope, 0.0, out=slope)


def each_least(values: NDArray[Any], first: NDArray[np.int64]) -> NDArray[Any]:
    """Least row of each group of rows.

    Parameters
    ----------
    values
        Shape (n, draws).
    first
        First row of each group; groups follow one another, and none is empty.

    Returns
    -------
    numpy.ndarray
        Shape (groups, draws); as ``numpy.minimum.reduceat``, which takes five times as long for few long rows.
    """
    size = np.diff(np.append(first, len(values)))
    least: NDArray[Any] = values[first]
    for step in range(1, int(size.max(initial=1))):
        groups = np.flatnonzero(size > step)
        least[groups] = np.minimum(least[groups], values[first[groups] + step])
    return least


def shrunk(measured: Floats, mean: Floats, signal: Floats, error: Floats) -> tuple[Floats, Floats]:
    """Mean and sigma of the truth given a measurement, where both truth and error are normal.

    Parameters
    ----------
    measured, mean
        What was measured, and what would be expected without measuring.
    signal, error
        Sigma of the truth about the mean, and of the error.
    """
    variance = signal**2 + error**2
    share = np.divide(signal**2, variance, out=np.ones_like(variance), where=variance > 0)
    return mean + share * (measured - mean), np.sqrt(share) * error


def even_slope(lots: Any) -> Floats:
    """Fall per metre to the east and to the north of each lot's even slope; none where it sheds no clear way."""
    slope = np.nan_to_num(number(lots, "slope_lot_pct")) / 100.0
    way = np.radians(number(lots, "flow_direction_deg"))
    fall = slope[:, None] * np.column_stack([np.sin(way), np.cos(way)])
    return np.where(np.isfinite(way)[:, None], fall, 0.0)


def ground_facts(candidates: Any, leads: Any, fall_per_m: Floats, lot_slope_pct: Floats, rules: Rules) -> GroundFacts:
    """Gather what the draws of the ground need.

    Parameters
    ----------
    candidates
        The candidates table, sorted by lot.
    leads
        The leads table; a candidate without a row there counts as one lead of its own numbers.
    fall_per_m
        ``even_slope`` of each candidate's lot, shape (candidates, 2).
    lot_slope_pct
        Mean slope of each candidate's lot, NaN where unknown. [%]
    rules
        Errors, their range, and the relief.
    """
    owner, start, over_m, ground_fall = _leads_of(candidates, leads)
    place = np.column_stack([number(candidates, "x_m"), number(candidates, "y_m")])
    step = place[owner] - start
    spread = fall_share(np.hypot(*step.T), rules.elevation_error_range_m)
    error = rules.elevation_error_m * spread
    error = np.where(flag(candidates, "level_taken")[owner], rules.level_error_m, error)
    expected = (fall_per_m[owner] * step).sum(axis=1)
    mean, sigma = shrunk(ground_fall, expected, rules.relief_m * spread, error)
    first = np.searchsorted(owner, np.arange(len(candidates)))
    apart = number(candidates, "fall_margin_m") - _least(over_m, first)
    over_m = over_m + np.where(np.abs(apart) <= ROUNDING_M, apart, 0.0)[owner]
    axis = np.radians(number(candidates, "long_axis_deg") + 90.0)
    downhill = np.column_stack([np.cos(axis), np.sin(axis)])
    uphill = (downhill * step[first]).sum(axis=1) < 0
    downhill[uphill] *= -1.0
    measured = number(candidates, "slope_pct")
    about = np.where(np.isfinite(lot_slope_pct), lot_slope_pct, measured)
    noise = np.full(len(measured), rules.slope_error_pct)
    slope, slope_error = shrunk(measured, about, np.full(len(measured), rules.slope_relief_pct), noise)
    return GroundFacts(start, over_m + mean - ground_fall, sigma, first, place, downhill, slope, slope_error)


def _least(values: Floats, first: NDArray[np.int64]) -> Floats:
    return np.asarray(np.minimum.reduceat(values, first)) if len(first) else np.zeros(0)


def _leads_of(candidates: Any, leads: Any) -> tuple[NDArray[np.int64], Floats, Floats, Floats]:
    """Candidate, start, margin at the lowest lip and fall of the ground of each lead, sorted by candidate."""
    place = np.column_stack([number(candidates, "x_m"), number(candidates, "y_m")])
    lip, low, ground = (number(candidates, name) for name in ("lip_m", "lip_low_m", "ground_m"))
    lots = candidates["lot_id"].unique()
    most = max((int(table["candidate"].max()) for table in (candidates, leads) if len(table)), default=0)
    keys, wanted = (
        rows_of(lots, table["lot_id"]) * (most + 1) + table["candidate"].to_numpy(dtype=np.int64)
        for table in (candidates, leads)
    )
    owner = np.asarray(pd.Index(keys).get_indexer(wanted), dtype=np.int64)
    known = owner >= 0
    points, line = shapely.get_coordinates(leads.geometry.to_numpy()[known], return_index=True)
    start = points[np.searchsorted(line, np.arange(known.sum()))]
    owner = owner[known]
    over = (number(leads, "fall_m") - number(leads, "fall_needed_m"))[known] + (lip - low)[owner]
    fall = number(leads, "fall_m")[known] + (lip - ground)[owner]
    bare = np.flatnonzero(np.bincount(owner, minlength=len(candidates)) == 0)
    away = np.column_stack([np.nan_to_num(number(candidates, "run_m"))[bare], np.zeros(len(bare))])
    owner = np.concatenate([owner, bare])
    start = np.concatenate([start, place[bare] - away])
    over = np.concatenate([over, number(candidates, "fall_margin_m")[bare]])
    fall = np.concatenate([fall, (number(candidates, "fall_m") + lip - ground)[bare]])
    order = np.argsort(owner, kind="stable")
    return owner[order], start[order], over[order], fall[order]
