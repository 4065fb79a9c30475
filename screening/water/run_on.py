"""Run-on of a storm: what lawn that drains into a garden over its lip sheds, and what that leaves of the garden's room.

Lawn sheds by curve number, roofs and paving by volumetric coefficient, each run by itself. All ground that drains in
counts as lawn.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screening.fields import round_half_up
from screening.rules import Rules
from screening.soils.groups import group_number
from screening.water.runoff import LAWN_CURVE_NUMBERS, runoff_mm

__all__ = ["RUN_ON_STEP_M3", "lawn_curve_number", "run_on_held_m3", "storm_run_on", "with_run_on_m3"]

Floats = NDArray[np.float64]

RUN_ON_STEP_M3 = 0.001
"""What run-on is told in, and reckoned on with."""


def lawn_curve_number(hsg: Any, rules: Rules) -> NDArray[np.int64]:
    """Curve number of lawn at each place.

    Parameters
    ----------
    hsg
        Groups as ``soils.groups.LABELS``, shape (n,). One that is not known counts as D, which sheds most.
    rules
        ``lawn_condition``, ``dual_group_drained``.
    """
    number = group_number(hsg, drained=rules.dual_group_drained)  # -1, unknown, takes the last: D
    return np.asarray(LAWN_CURVE_NUMBERS[rules.lawn_condition], dtype=np.int64)[number]


def storm_run_on(area_m2: ArrayLike, curve_number: ArrayLike, rules: Rules) -> Floats:
    """What ground sheds in the rules' storm, in steps of ``RUN_ON_STEP_M3``; NaN where the area is not known [m3]."""
    depth_m = runoff_mm(rules.storm_depth_mm, curve_number) / 1000.0
    return np.asarray(round_half_up(np.asarray(area_m2, dtype=np.float64) * depth_m, RUN_ON_STEP_M3))


def with_run_on_m3(captured_m3: ArrayLike, inflow_m3: ArrayLike, room_m3: ArrayLike, run_on_m3: ArrayLike) -> Floats:
    """Roof water captured where lawn sheds into the garden too: in proportion to what comes, once the garden overfills.

    Parameters
    ----------
    captured_m3
        Captured without run-on: the smaller of the next two. [m3]
    inflow_m3, room_m3
        Roof water led to the garden in the storm; water that it holds. [m3]
    run_on_m3
        Of the lawn; NaN where not known. [m3]

    Returns
    -------
    numpy.ndarray
        Never more than without, and the same bits where no lawn sheds; NaN where run-on is not known. [m3]
    """
    captured, inflow, room, lawn = np.broadcast_arrays(
        *(np.asarray(volume, dtype=np.float64) for volume in (captured_m3, inflow_m3, room_m3, run_on_m3))
    )
    both = inflow + lawn
    over = both > room
    share = np.divide(room * inflow, both, out=np.array(captured), where=over)
    return np.where(np.isnan(lawn), np.nan, np.where(over & (lawn > 0.0), np.minimum(captured, share), captured))


def run_on_held_m3(captured_m3: ArrayLike, room_m3: ArrayLike, run_on_m3: ArrayLike) -> Floats:
    """Lawn water that a garden holds beside the roof water that it captures: all, or what room that leaves [m3]."""
    left = np.asarray(room_m3, dtype=np.float64) - np.asarray(captured_m3, dtype=np.float64)
    return np.asarray(np.minimum(np.asarray(run_on_m3, dtype=np.float64), left))
