"""Size of a garden from the area that drains to it, and back.

    ponding area = Rv x capture depth x draining area / (ponding depth + void fraction x bed depth)

The storage behind it is the water that stands over the bed and in its voids (as bioretention storage is commonly
reckoned: V = A (dp + n dm)). Rain on the garden itself and what soaks in during the storm are left out: they are small
and work against each other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from screening.rules import Rules

__all__ = [
    "bed_bottom_depth_m",
    "berm_height_m",
    "bounded_ponding_area_m2",
    "capture_depth_mm",
    "crest_to_bed_mm",
    "cut_height_m",
    "draining_area_m2",
    "excavation_depth_mm",
    "ponding_area_m2",
    "ponding_area_of_rules_m2",
    "served_area_table",
    "sizing_table",
    "storage_depth_mm",
    "storage_m3",
]

Floats = NDArray[np.float64]


def storage_depth_mm(ponding_depth_mm: ArrayLike, bed_depth_mm: ArrayLike, void_fraction: ArrayLike) -> Floats:
    """Depth of water that a garden holds over its ponding area: pond and voids of the bed [mm]."""
    return np.asarray(
        np.asarray(ponding_depth_mm, dtype=np.float64) + np.asarray(void_fraction) * np.asarray(bed_depth_mm)
    )


def storage_m3(
    area_m2: ArrayLike, ponding_depth_mm: ArrayLike, bed_depth_mm: ArrayLike, void_fraction: ArrayLike
) -> Floats:
    """Water that a garden holds [m3]."""
    return np.asarray(np.asarray(area_m2) * storage_depth_mm(ponding_depth_mm, bed_depth_mm, void_fraction) / 1000.0)


def ponding_area_m2(
    draining_area_m2: ArrayLike,
    capture_depth_mm: ArrayLike,
    *,
    runoff_coefficient: ArrayLike,
    ponding_depth_mm: ArrayLike,
    bed_depth_mm: ArrayLike,
    void_fraction: ArrayLike,
) -> Floats:
    """Ponding area that holds a depth of rain over the draining area.

    Parameters
    ----------
    draining_area_m2
        Roof and paving led to the garden, in plan. [m2]
    capture_depth_mm
        Depth of rain to hold. [mm]
    runoff_coefficient
        Volumetric runoff coefficient Rv of the draining area.
    ponding_depth_mm, bed_depth_mm
        Depth of the pond at the overflow lip; depth of the planting mix. [mm]
    void_fraction
        Void fraction of the planting mix.

    Returns
    -------
    numpy.ndarray
        Ponding area. [m2]
    """
    runoff = np.asarray(runoff_coefficient) * np.asarray(capture_depth_mm) * np.asarray(draining_area_m2)
    return np.asarray(runoff / storage_depth_mm(ponding_depth_mm, bed_depth_mm, void_fraction))


def ponding_area_of_rules_m2(draining_area_m2: ArrayLike, rules: Rules) -> Floats:
    """Ponding area for the rules' wanted capture depth and depths [m2]."""
    return ponding_area_m2(
        draining_area_m2,
        rules.capture_depth_mm,
        runoff_coefficient=rules.runoff_coefficient,
        ponding_depth_mm=rules.ponding_depth_mm,
        bed_depth_mm=rules.bed_depth_mm,
        void_fraction=rules.void_fraction,
    )


def capture_depth_mm(
    ponding_area_m2: ArrayLike,
    draining_area_m2: ArrayLike,
    *,
    runoff_coefficient: ArrayLike,
    ponding_depth_mm: ArrayLike,
    bed_depth_mm: ArrayLike,
    void_fraction: ArrayLike,
) -> Floats:
    """Depth of rain over the draining area that a garden holds without overflowing [mm]; NaN where nothing drains.

    The inverse of ``ponding_area_m2``, with the same parameters.
    """
    shed = np.asarray(runoff_coefficient) * np.asarray(draining_area_m2, dtype=np.float64)
    held = np.asarray(ponding_area_m2) * storage_depth_mm(ponding_depth_mm, bed_depth_mm, void_fraction)
    held, shed = np.broadcast_arrays(held, shed)
    return np.asarray(np.divide(held, shed, out=np.full(held.shape, np.nan), where=shed > 0))


def draining_area_m2(
    ponding_area_m2: ArrayLike,
    capture_depth_mm: ArrayLike,
    *,
    runoff_coefficient: ArrayLike,
    ponding_depth_mm: ArrayLike,
    bed_depth_mm: ArrayLike,
    void_fraction: ArrayLike,
) -> Floats:
    """Largest draining area that a ponding area serves at a capture depth [m2]; parameters as ``ponding_area_m2``."""
    held = np.asarray(ponding_area_m2) * storage_depth_mm(ponding_depth_mm, bed_depth_mm, void_fraction)
    return np.asarray(held / (np.asarray(runoff_coefficient) * np.asarray(capture_depth_mm)))


def bounded_ponding_area_m2(
    needed_m2: ArrayLike, room_m2: ArrayLike, *, least_m2: float, most_m2: float
) -> tuple[Floats, NDArray[np.bool_]]:
    """Ponding area to build: what is needed, never less than the least nor more than the most and the room.

    Returns
    -------
    area_m2
        NaN where the room is smaller than the least. [m2]
    holds
        Whether it holds all that is needed.
    """
    needed, room = np.broadcast_arrays(np.asarray(needed_m2, np.float64), np.asarray(room_m2, np.float64))
    area = np.minimum(np.maximum(needed, least_m2), np.minimum(room, most_m2))
    area = np.where(room < least_m2, np.nan, area)
    return area, area >= needed


def crest_to_bed_mm(mulch_mm: ArrayLike, ponding_depth_mm: ArrayLike, freeboard_mm: ArrayLike) -> Floats:
    """Height of the berm's crest over the top of the bed: mulch, pond and freeboard [mm]."""
    return np.asarray(np.asarray(mulch_mm, dtype=np.float64) + np.asarray(ponding_depth_mm) + np.asarray(freeboard_mm))


def excavation_depth_mm(bed_depth_mm: ArrayLike, crest_to_bed_mm: ArrayLike) -> Floats:
    """Depth of the hole below the berm's crest: bed and the height of the crest over it [mm]."""
    return np.asarray(np.asarray(bed_depth_mm, dtype=np.float64) + np.asarray(crest_to_bed_mm))


def bed_bottom_depth_m(
    ponding_depth_mm: ArrayLike, mulch_mm: ArrayLike, bed_depth_mm: ArrayLike, *, lip_over_ground_m: ArrayLike = 0.0
) -> Floats:
    """Depth of the bed's bottom below the ground at the garden's centre [m].

    Parameters
    ----------
    ponding_depth_mm, mulch_mm, bed_depth_mm
        Depths, from the lip down. [mm]
    lip_over_ground_m
        Overflow lip over the ground at the centre. [m]
    """
    layers = np.asarray(ponding_depth_mm, dtype=np.float64) + np.asarray(mulch_mm) + np.asarray(bed_depth_mm)
    return np.asarray(layers / 1000.0 - np.asarray(lip_over_ground_m))


def berm_height_m(lip_m: ArrayLike, lowest_ground_m: ArrayLike, freeboard_mm: ArrayLike) -> Floats:
    """Height of the berm's crest over the lowest ground under the footprint, never below zero [m]."""
    crest = np.asarray(lip_m, dtype=np.float64) + np.asarray(freeboard_mm) / 1000.0
    return np.asarray(np.maximum(crest - np.asarray(lowest_ground_m), 0.0))


def cut_height_m(lip_m: ArrayLike, highest_ground_m: ArrayLike) -> Floats:
    """Height of the uphill cut, from the lip up to the highest ground under the footprint, never below zero [m]."""
    return np.asarray(np.maximum(np.asarray(highest_ground_m, dtype=np.float64) - np.asarray(lip_m), 0.0))


def sizing_table(
    draining_areas_m2: Sequence[float],
    bed_depths_mm: Sequence[float],
    rules: Rules,
    *,
    capture_depth_mm: float | None = None,
) -> pd.DataFrame:
    """Ponding area by draining area (rows) and bed depth (columns) [m2].

    Capture depth, ponding depth, void fraction and runoff coefficient are the rules' own unless given.
    """
    return _by_bed_depth(
        ponding_area_m2, pd.Index(draining_areas_m2, name="draining_area_m2"), bed_depths_mm, rules, capture_depth_mm
    )


def served_area_table(
    ponding_areas_m2: Sequence[float],
    bed_depths_mm: Sequence[float],
    rules: Rules,
    *,
    capture_depth_mm: float | None = None,
) -> pd.DataFrame:
    """Draining area served by ponding area (rows) and bed depth (columns) [m2]: ``sizing_table`` the other way."""
    return _by_bed_depth(
        draining_area_m2, pd.Index(ponding_areas_m2, name="ponding_area_m2"), bed_depths_mm, rules, capture_depth_mm
    )


def _by_bed_depth(
    size: Callable[..., Floats],
    areas_m2: pd.Index,
    bed_depths_mm: Sequence[float],
    rules: Rules,
    capture_depth_mm: float | None,
) -> pd.DataFrame:
    """One area from another and the bed's depth, by the rules."""
    found = size(
        areas_m2.to_numpy(dtype=np.float64)[:, None],
        rules.capture_depth_mm if capture_depth_mm is None else capture_depth_mm,
        runoff_coefficient=rules.runoff_coefficient,
        ponding_depth_mm=rules.ponding_depth_mm,
        bed_depth_mm=np.asarray(bed_depths_mm, dtype=np.float64)[None, :],
        void_fraction=rules.void_fraction,
    )
    return pd.DataFrame(found, index=areas_m2, columns=pd.Index(bed_depths_mm, name="bed_depth_mm"))
