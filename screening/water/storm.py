"""One storm: what roofs and paving shed, what gardens capture of it, and what that keeps out of the drain.

Captured and kept are roof water alone. Where the rules ask for run-on, lawn water that comes over the lip takes its
part of a garden's room; what is held of it is told apart and credited to nobody.

Rv = 0.05 + 0.009 x impervious percent (Schueler 1987, Metropolitan Washington Council of Governments); 0.95 for roofs
and paving.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from screening.rules import Rules
from screening.water.run_on import run_on_held_m3, with_run_on_m3

__all__ = ["STORM_COLUMNS", "STORM_STEP_M3", "captured_m3", "garden_storm", "of_both", "shed_m3", "storm"]

Floats = NDArray[np.float64]

STORM_STEP_M3 = 0.01
"""What the lots table tells the storm's water in; a lot's garden captures no more than the runoff so told."""
STORM_COLUMNS = ("storm_runoff_m3", "storm_captured_m3", "storm_kept_m3", "storm_run_on_held_m3")


def shed_m3(area_m2: ArrayLike, rain_mm: ArrayLike, runoff_coefficient: ArrayLike) -> Floats:
    """Water that an area sheds: Rv x depth x area.

    Parameters
    ----------
    area_m2
        Roofs and paving, in plan. [m2]
    rain_mm
        Depth of rain. [mm]
    runoff_coefficient
        Volumetric runoff coefficient Rv.

    Returns
    -------
    numpy.ndarray
        Volume. [m3]
    """
    depth_m = np.asarray(rain_mm, dtype=np.float64) / 1000.0
    return np.asarray(np.asarray(runoff_coefficient) * depth_m * np.asarray(area_m2))


def captured_m3(
    draining_area_m2: ArrayLike, capture_depth_mm: ArrayLike, rain_mm: ArrayLike, runoff_coefficient: ArrayLike
) -> Floats:
    """Water of a storm that a garden holds: what its draining area sheds, up to its capture depth [m3]."""
    depth = np.minimum(np.asarray(rain_mm, dtype=np.float64), np.asarray(capture_depth_mm, dtype=np.float64))
    return shed_m3(draining_area_m2, depth, runoff_coefficient)


def storm(
    impervious_area_m2: ArrayLike,
    draining_area_m2: ArrayLike,
    capture_depth_mm: ArrayLike,
    drain_reach: ArrayLike,
    rules: Rules,
    *,
    storm_depth_mm: float | None = None,
    run_on_m3: ArrayLike | None = None,
) -> pd.DataFrame:
    """Shed, captured and kept in the storm, one row a lot or candidate.

    Parameters
    ----------
    impervious_area_m2
        Roofs and paving of the lot. [m2]
    draining_area_m2
        Of these, led to the garden; NaN or 0 where there is no garden. [m2]
    capture_depth_mm
        Depth of rain over the draining area that the garden holds. [mm]
    drain_reach
        Share of the water led that would otherwise reach the drain, 0 to 1; NaN where it is not known.
    rules
        ``storm_depth_mm`` and ``runoff_coefficient``.
    storm_depth_mm
        Depth of the storm where it is not the rules' own (a percentile of the record, a design depth). [mm]
    run_on_m3
        What lawn sheds into the garden over its lip, NaN where not known; None where it is not asked for. [m3]

    Returns
    -------
    pandas.DataFrame
        ``storm_runoff_m3``, ``storm_captured_m3`` (never more than shed; 0 without a garden; NaN where run-on is not
        known), ``storm_kept_m3`` and ``storm_run_on_held_m3`` (NaN where run-on is not asked for).
    """
    depth = rules.storm_depth_mm if storm_depth_mm is None else storm_depth_mm
    shed = shed_m3(impervious_area_m2, depth, rules.runoff_coefficient)
    garden = (draining_area_m2, capture_depth_mm, drain_reach)
    return garden_storm(shed, *garden, rules, storm_depth_mm=depth, run_on_m3=run_on_m3)


def of_both(first: pd.DataFrame, second: pd.DataFrame) -> pd.DataFrame:
    """Water of two gardens of a lot that take other downspouts: shed once, captured, kept and held of both.

    What is not known of the first is not known of both; a second one of which it is not known adds nothing.

    Parameters
    ----------
    first, second
        Columns ``storm_...`` and, where there are any, ``year_...``, one row a lot; the second's without a garden hold
        0 or nothing.
    """
    both = first.copy()
    for name in first.columns:
        if name.endswith(("_captured_m3", "_kept_m3", "_held_m3")):
            both[name] = first[name].add(second[name], fill_value=0.0).where(first[name].notna())
        if name.endswith(("_captured_m3", "_kept_m3")):
            both[name] = np.minimum(both[name], first[f"{name.split('_')[0]}_runoff_m3"])
    return both


def garden_storm(
    runoff_m3: ArrayLike,
    draining_area_m2: ArrayLike,
    capture_depth_mm: ArrayLike,
    drain_reach: ArrayLike,
    rules: Rules,
    *,
    storm_depth_mm: float | None = None,
    run_on_m3: ArrayLike | None = None,
) -> pd.DataFrame:
    """As ``storm``, where it is known what the lots shed [m3]."""
    depth = rules.storm_depth_mm if storm_depth_mm is None else storm_depth_mm
    runoff, area, held, reach = np.broadcast_arrays(
        np.asarray(runoff_m3, dtype=np.float64),
        np.asarray(draining_area_m2, dtype=np.float64),
        np.asarray(capture_depth_mm, dtype=np.float64),
        np.asarray(drain_reach, dtype=np.float64),
    )
    garden = np.nan_to_num(area) > 0
    captured = captured_m3(area, held, depth, rules.runoff_coefficient)
    lawn_held = np.full(len(captured), np.nan)
    if run_on_m3 is not None:
        inflow, room = (shed_m3(area, rain_mm, rules.runoff_coefficient) for rain_mm in (depth, held))
        captured = with_run_on_m3(captured, inflow, room, run_on_m3)
        lawn_held = np.where(garden, run_on_held_m3(captured, room, run_on_m3), 0.0)
    captured = np.where(garden, captured, 0.0)
    captured = np.where(np.isnan(runoff), captured, np.minimum(captured, runoff))
    kept = np.where(garden, captured * reach, 0.0)
    return pd.DataFrame(dict(zip(STORM_COLUMNS, (runoff, captured, kept, lawn_held), strict=True)))
