"""What a lead's pipe carries: Manning's equation for a pipe running full, Q = A R^(2/3) S^(1/2) / n (SI)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["MANNING_N", "full_pipe_flow_l_s", "roof_area_carried_m2"]

Floats = NDArray[np.float64]

MANNING_N = 0.013
"""Roughness of a pipe laid by hand; smooth plastic is nearer 0.010 (common practice)."""


def full_pipe_flow_l_s(diameter_m: ArrayLike, grade_pct: ArrayLike, manning_n: float = MANNING_N) -> Floats:
    """Flow of a round pipe running full.

    Parameters
    ----------
    diameter_m
        Inner diameter. [m]
    grade_pct
        Grade. [%]
    manning_n
        Manning's roughness. [s/m^(1/3)]

    Returns
    -------
    numpy.ndarray
        Flow. [L/s]
    """
    diameter = np.asarray(diameter_m, dtype=np.float64)
    area_m2 = np.pi * diameter**2 / 4.0
    radius_m = diameter / 4.0
    return np.asarray(1000.0 * area_m2 * radius_m ** (2.0 / 3.0) * np.sqrt(np.asarray(grade_pct) / 100.0) / manning_n)


def roof_area_carried_m2(flow_l_s: ArrayLike, rain_mm_h: ArrayLike) -> Floats:
    """Roof, in plan, whose rain at an intensity makes a flow [m2]."""
    return np.asarray(np.asarray(flow_l_s, dtype=np.float64) * 3600.0 / np.asarray(rain_mm_h))
