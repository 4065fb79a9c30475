"""How long a full garden takes to empty into the ground below it.

The pond stands on a saturated bed, and both leave at the infiltration of the ground under the bed: a pond of depth d
empties in d / f, and a bed of void fraction n and depth d holds n d, so that it empties in n d / f.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["bed_drawdown_h", "deepest_bed_mm", "deepest_pond_mm", "pond_drawdown_h"]

Floats = NDArray[np.float64]


def pond_drawdown_h(ponding_depth_mm: ArrayLike, infiltration_mm_h: ArrayLike) -> Floats:
    """Time for the full pond to empty [h]; infinite where nothing soaks in, NaN where the infiltration is unknown."""
    return _time_h(np.asarray(ponding_depth_mm, dtype=np.float64), infiltration_mm_h)


def bed_drawdown_h(
    ponding_depth_mm: ArrayLike, bed_depth_mm: ArrayLike, void_fraction: ArrayLike, infiltration_mm_h: ArrayLike
) -> Floats:
    """Time for pond and bed, both full, to empty [h].

    Parameters
    ----------
    ponding_depth_mm, bed_depth_mm
        Depths. [mm]
    void_fraction
        Void fraction of the bed.
    infiltration_mm_h
        Infiltration of the ground under the bed. [mm/h]
    """
    water = np.asarray(ponding_depth_mm, np.float64) + np.asarray(void_fraction) * np.asarray(bed_depth_mm)
    return _time_h(np.asarray(water), infiltration_mm_h)


def _time_h(water_mm: Floats, infiltration_mm_h: ArrayLike) -> Floats:
    water, rate = np.broadcast_arrays(water_mm, np.asarray(infiltration_mm_h, dtype=np.float64))
    hours = np.divide(water, rate, out=np.full(water.shape, np.inf), where=rate > 0)
    return np.where(np.isnan(rate), np.nan, np.where(water == 0, 0.0, hours))


def deepest_pond_mm(infiltration_mm_h: ArrayLike, limit_h: ArrayLike) -> Floats:
    """Deepest pond that empties within a limit [mm]."""
    return np.asarray(np.asarray(infiltration_mm_h, dtype=np.float64) * np.asarray(limit_h))


def deepest_bed_mm(infiltration_mm_h: ArrayLike, limit_h: ArrayLike, void_fraction: ArrayLike) -> Floats:
    """Deepest bed (of a void fraction, no pond on it) that empties within a limit [mm]."""
    return np.asarray(deepest_pond_mm(infiltration_mm_h, limit_h) / np.asarray(void_fraction))
