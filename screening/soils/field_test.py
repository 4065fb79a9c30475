"""Soil tests: from the drop in a hole to a conductivity, and from a test to its neighbours.

The drop of water in a test hole is not a conductivity: water also leaves through the wall. The inverse auger hole
method (Porchet; ILRI publication 16, formula from memory) allows for it:

    K = (r / 2) ln[(h0 + r / 2) / (ht + r / 2)] / t
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import cKDTree

from screening.rules import Rules
from screening.soils.conductivity import group_infiltration_mm_h
from screening.units import UM_PER_S_MM_PER_H

__all__ = ["by_tests", "conductivity_of_hole_mm_h", "hole_passes", "time_of_hole_h", "vague_prior"]

Floats = NDArray[np.float64]


def conductivity_of_hole_mm_h(
    depth_start_mm: ArrayLike, depth_end_mm: ArrayLike, hours: ArrayLike, diameter_mm: ArrayLike
) -> Floats:
    """Conductivity of the ground from the drop of water in a test hole.

    Parameters
    ----------
    depth_start_mm, depth_end_mm
        Depth of water in the hole at the start and the end of the reading; 0 at the end when it is empty. [mm]
    hours
        Time between them. [h]
    diameter_mm
        Diameter of the hole. [mm]

    Returns
    -------
    numpy.ndarray
        Conductivity; NaN where the reading is none (no time, no water, or water that rose). [mm/h]
    """
    start, end, time, diameter = np.broadcast_arrays(
        *(np.asarray(values, dtype=np.float64) for values in (depth_start_mm, depth_end_mm, hours, diameter_mm))
    )
    half_radius = diameter / 4.0
    valid = (time > 0) & (start > 0) & (end >= 0) & (end <= start) & (diameter > 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = half_radius * np.log((start + half_radius) / (end + half_radius)) / time
    return np.where(valid, rate, np.nan)


def time_of_hole_h(ksat_mm_h: ArrayLike, depth_mm: ArrayLike, diameter_mm: ArrayLike) -> Floats:
    """Time for a full test hole to empty [h]: ``conductivity_of_hole_mm_h`` the other way.

    Parameters
    ----------
    ksat_mm_h
        Conductivity of the ground. [mm/h]
    depth_mm, diameter_mm
        Of the hole. [mm]
    """
    half_radius = np.asarray(diameter_mm, dtype=np.float64) / 4.0
    drop = np.log((np.asarray(depth_mm) + half_radius) / half_radius)
    with np.errstate(divide="ignore"):
        return np.asarray(half_radius * drop / np.asarray(ksat_mm_h, dtype=np.float64))


def hole_passes(fill_hours: ArrayLike, limit_h: float) -> bool:
    """Whether a place passes its test: every filling of the hole emptied within the limit (common practice: 36 h).

    Parameters
    ----------
    fill_hours
        Time that each filling took, in their order. The last one, on soil already wet, is the one to compute with; a
        first filling also wets the sides and reads too fast. [h]
    limit_h
        The limit. [h]
    """
    hours = np.asarray(fill_hours, dtype=np.float64).ravel()
    hours = hours[~np.isnan(hours)]
    return bool(len(hours) > 0 and (hours <= limit_h).all())


def vague_prior(rules: Rules) -> tuple[float, float]:
    """Conductivity where no map tells the group: an equal mixture of the four.

    Returns
    -------
    ksat_um_s
        Its median. [um/s]
    spread
        Factor of one sigma, of the groups' values and of their own spread together.
    """
    logs = np.log(np.maximum(group_infiltration_mm_h(rules), 0.01) / UM_PER_S_MM_PER_H)
    variance = logs.var() + np.log(rules.infiltration_spread) ** 2
    return float(np.exp(logs.mean())), float(np.exp(np.sqrt(variance)))


def by_tests(places: pd.DataFrame, tests: pd.DataFrame, rules: Rules) -> pd.DataFrame:
    """Design conductivity at places after soil tests.

    A test stands alone within ``rules.soil_test_reach_m`` of it (the nearest, where there are several). Beyond, it
    moves the estimate of places on the same map unit: log conductivity is a Gaussian field about the map's values, with
    the map's spread, correlated by ``soil_unit_correlation`` over a whole unit and the rest falling exponentially with
    ``soil_correlation_range_m``; tests have the error ``soil_test_spread``; the estimate is the field's mean given the
    tests (simple kriging). Where the map tells nothing, ``vague_prior`` stands in; ground off the map counts as one
    unit without a correlation of its own.

    Parameters
    ----------
    places
        ``x_m``, ``y_m``, ``unit`` (position of the map unit there, -1 off the map), and what the map says there:
        ``ksat_um_s`` and ``ksat_spread`` (NaN where unknown), ``ksat_source``.
    tests
        The same columns but the source, at each test, and ``test_ksat_um_s``, what the test found.
    rules
        Reach, correlation and spread of tests.

    Returns
    -------
    pandas.DataFrame
        ``ksat_um_s``, ``ksat_spread`` and ``ksat_source`` of the places, index 0..n-1; the source is ``test`` within
        reach of one, ``nearby test`` where only tests tell, else as given.
    """
    mean, sigma, known = _prior(places, rules)
    found = np.log(np.maximum(tests["test_ksat_um_s"].to_numpy(dtype=np.float64), 1e-6))
    moved = _krige(places, tests, found, mean, sigma, rules)
    source = places["ksat_source"].to_numpy(dtype=object).copy()
    source[moved & ~known] = "nearby test"
    estimate = pd.DataFrame(
        {
            "ksat_um_s": np.where(known | moved, np.exp(mean), np.nan),
            "ksat_spread": np.where(known | moved, np.exp(sigma), np.nan),
            "ksat_source": source,
        }
    )
    if len(tests) and len(places):
        distance, nearest = cKDTree(_points(tests)).query(_points(places))
        within = distance <= rules.soil_test_reach_m
        estimate.loc[within, "ksat_um_s"] = np.exp(found)[nearest[within]]
        estimate.loc[within, "ksat_spread"] = rules.soil_test_spread
        estimate.loc[within, "ksat_source"] = "test"
    return estimate


def _krige(
    places: pd.DataFrame, tests: pd.DataFrame, found: Floats, mean: Floats, sigma: Floats, rules: Rules
) -> NDArray[np.bool_]:
    """Move mean and sigma of log conductivity at the places, in place; tell which lie on a unit with a test."""
    test_mean, test_sigma, _ = _prior(tests, rules)
    unit, test_unit = places["unit"].to_numpy(), tests["unit"].to_numpy()
    place, test = _points(places), _points(tests)
    moved = np.zeros(len(place), dtype=bool)
    for one in np.unique(test_unit):
        at, of = np.flatnonzero(unit == one), np.flatnonzero(test_unit == one)
        floor = rules.soil_unit_correlation if one >= 0 else 0.0
        between = sigma[at, None] * test_sigma[of] * _correlation(place[at], test[of], floor, rules)
        among = test_sigma[of, None] * test_sigma[of] * _correlation(test[of], test[of], floor, rules)
        among += np.eye(len(of)) * np.log(max(rules.soil_test_spread, 1.001)) ** 2
        weights = np.linalg.solve(among, between.T).T
        mean[at] += weights @ (found[of] - test_mean[of])
        sigma[at] = np.sqrt(np.maximum(sigma[at] ** 2 - (weights * between).sum(axis=1), 1e-12))
        moved[at] = True
    return moved


def _points(table: pd.DataFrame) -> Floats:
    return np.asarray(table[["x_m", "y_m"]].to_numpy(dtype=np.float64))


def _prior(table: pd.DataFrame, rules: Rules) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Mean and sigma of log conductivity as mapped, the vague prior where unknown, and where it is known."""
    ksat = table["ksat_um_s"].to_numpy(dtype=np.float64)
    factor = table["ksat_spread"].to_numpy(dtype=np.float64)
    known = np.isfinite(ksat) & np.isfinite(factor)
    median, vague = vague_prior(rules)
    mean = np.log(np.where(known, np.maximum(ksat, 1e-6), median))
    return mean, np.log(np.where(known, factor, vague)), known


def _correlation(one: Floats, other: Floats, floor: float, rules: Rules) -> Floats:
    distance = np.hypot(one[:, None, 0] - other[None, :, 0], one[:, None, 1] - other[None, :, 1])
    return np.asarray(floor + (1.0 - floor) * np.exp(-distance / rules.soil_correlation_range_m))
