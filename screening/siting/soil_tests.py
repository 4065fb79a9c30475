"""Soil tests on a lot: the conductivity they found stands for their place, and warns of the rest."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from screening.rules import Rules
from screening.siting.spot_limits import number
from screening.soils.conductivity import least_infiltration_mm_h
from screening.units import UM_PER_S_MM_PER_H

__all__ = ["TEST_REACH_M", "with_soil_tests"]

TEST_REACH_M: Final = 10.0
"""A soil test stands for the ground nearer to it than this."""


def with_soil_tests(candidates: Any, tests: Any, rules: Rules) -> Any:
    """Let soil tests speak for the candidates near them; of several tests near one the slowest counts.

    Parameters
    ----------
    candidates
        The candidates table with the map's soil filled in.
    tests
        Columns ``lot_id``, ``x_m``, ``y_m`` and ``ksat_um_s``, one row a test.
    rules
        Drawdown limits, and the spread of a test.

    Returns
    -------
    The candidates with ``ksat_um_s``, ``ksat_source`` and ``ksat_spread`` of the tests, and ``failed_test_m``: distance
    to the nearest test on the lot, beyond its reach, that was too slow.
    """
    same = candidates["lot_id"].to_numpy(dtype=object)[:, None] == tests["lot_id"].to_numpy(dtype=object)[None, :]
    away = np.hypot(
        number(candidates, "x_m")[:, None] - number(tests, "x_m")[None, :],
        number(candidates, "y_m")[:, None] - number(tests, "y_m")[None, :],
    )
    ksat = number(tests, "ksat_um_s")
    near = same & (away < TEST_REACH_M)
    tested = near.any(axis=1)
    slowest = np.where(near, ksat[None, :], np.inf).min(axis=1, initial=np.inf)
    slow = ksat * UM_PER_S_MM_PER_H < least_infiltration_mm_h(rules)
    failed = np.where(same & ~near & slow[None, :], away, np.inf).min(axis=1, initial=np.inf)
    return candidates.assign(
        ksat_um_s=np.where(tested, slowest, number(candidates, "ksat_um_s")),
        ksat_source=np.where(tested, "test", candidates["ksat_source"].to_numpy(dtype=object)),
        ksat_spread=np.where(tested, rules.soil_test_spread, number(candidates, "ksat_spread")),
        failed_test_m=np.where(np.isfinite(failed), failed, np.nan),
    )
