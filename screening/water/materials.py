"""Bill of materials of a garden: what is dug, brought, laid and planted.

Quantities are in place, without waste, swell or settling. The ponding area has a level bottom; the berm stands in the
ring around it, its section a triangle as high as its crest stands over the ground.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from screening.rules import Rules
from screening.water.sizing import bed_bottom_depth_m

__all__ = ["BILL_COLUMNS", "MIX_PARTS", "bill_of_materials", "mean_berm_height_m", "plants_on_area"]

Floats = NDArray[np.float64]

MIX_PARTS: Final = {"sand": 2, "topsoil": 1, "compost": 1}
"""Parts of the planting mix by volume: washed coarse sand, topsoil, compost (common practice)."""
BILL_COLUMNS: Final = (
    "hole_m3",
    "mix_m3",
    "sand_m3",
    "topsoil_m3",
    "compost_m3",
    "mulch_m3",
    "berm_m3",
    "berm_compost_m3",
    "spoil_m3",
    "turf_stripped_m2",
    "turf_laid_m2",
    "pipe_m",
    "swale_m",
    "plants",
    "shrubs",
    "native_least",
)


def plants_on_area(area_m2: ArrayLike, spacing_m: float) -> Floats:
    """Plants on an area at a spacing, on a triangular grid: 2 / (sqrt(3) spacing^2) a square metre, whole plants."""
    each_m2 = np.sqrt(3.0) / 2.0 * spacing_m**2
    return np.asarray(np.floor(np.asarray(area_m2, dtype=np.float64) / each_m2 + 0.5))


def mean_berm_height_m(over_lowest_m: ArrayLike, over_highest_m: ArrayLike) -> Floats:
    """Mean height around the ring of a level crest over ground that slopes evenly under it.

    Along the ring the crest's height over the ground is m + d cos(angle), with m the mean and d half the difference of
    the two heights given; where it would be below zero there is no berm. The mean of the positive part is
    (m t + d sin(t)) / pi with t = arccos(-m / d).

    Parameters
    ----------
    over_lowest_m, over_highest_m
        Crest over the lowest and over the highest ground of the ring; the latter may be negative. [m]
    """
    low, high = np.broadcast_arrays(np.asarray(over_lowest_m, np.float64), np.asarray(over_highest_m, np.float64))
    middle, half = (low + high) / 2.0, np.abs(low - high) / 2.0
    cosine = np.divide(-middle, half, out=np.where(middle >= 0, -1.0, 1.0), where=half > 0)
    turn = np.arccos(np.clip(cosine, -1.0, 1.0))
    return np.asarray((middle * turn + half * np.sin(turn)) / np.pi)


def bill_of_materials(
    ponding_area_m2: ArrayLike,
    footprint_m2: ArrayLike,
    lip_over_ground_m: ArrayLike,
    berm_m: ArrayLike,
    cut_m: ArrayLike,
    pipe_m: ArrayLike,
    swale_m: ArrayLike,
    rules: Rules,
) -> pd.DataFrame:
    """Quantities of gardens, one row each.

    Parameters
    ----------
    ponding_area_m2, footprint_m2
        Ponding area; ponding area and berm ring. [m2]
    lip_over_ground_m
        Overflow lip over the ground at the centre. [m]
    berm_m, cut_m
        Berm crest over the lowest ground; highest ground over the lip. [m]
    pipe_m, swale_m
        Length of the leads in pipes, shallow or buried, and over the surface. [m]
    rules
        Depths, plant spacings, shares.

    Returns
    -------
    pandas.DataFrame
        ``BILL_COLUMNS``. ``hole_m3`` is what is dug under the ponding area; ``spoil_m3`` what of it the berm does not
        take (negative: soil to bring); ``turf_stripped_m2`` the whole footprint; ``turf_laid_m2`` the berm;
        ``native_least`` the least number of native plants and shrubs.
    """
    pond, foot, lip, berm, cut, pipe, swale = (
        np.atleast_1d(np.asarray(values, dtype=np.float64))
        for values in (ponding_area_m2, footprint_m2, lip_over_ground_m, berm_m, cut_m, pipe_m, swale_m)
    )
    ring = foot - pond
    depth = bed_bottom_depth_m(rules.ponding_depth_mm, rules.mulch_mm, rules.bed_depth_mm, lip_over_ground_m=lip)
    hole = pond * np.maximum(depth, 0.0)
    heap = ring * mean_berm_height_m(berm, rules.berm_freeboard_mm / 1000.0 - cut) / 2.0
    columns = {
        "hole_m3": hole,
        **_bed(pond, rules),
        "berm_m3": heap,
        "berm_compost_m3": ring * rules.berm_compost_mm / 1000.0,
        "spoil_m3": hole - heap,
        "turf_stripped_m2": foot,
        "turf_laid_m2": ring,
        "pipe_m": pipe,
        "swale_m": swale,
        **_planting(pond, rules),
    }
    return pd.DataFrame(columns)[list(BILL_COLUMNS)]


def _bed(pond_m2: Floats, rules: Rules) -> dict[str, Floats]:
    mix = pond_m2 * rules.bed_depth_mm / 1000.0
    parts = sum(MIX_PARTS.values())
    shares = {f"{name}_m3": mix * share / parts for name, share in MIX_PARTS.items()}
    return {"mix_m3": mix, **shares, "mulch_m3": pond_m2 * rules.mulch_mm / 1000.0}


def _planting(pond_m2: Floats, rules: Rules) -> dict[str, Floats]:
    shrubs = plants_on_area(pond_m2 * rules.shrub_share, rules.shrub_spacing_m)
    plants = plants_on_area(pond_m2 * (1.0 - rules.shrub_share), rules.plant_spacing_m)
    native = np.ceil(rules.native_share_least * (plants + shrubs) - 1e-9)
    return {"plants": plants, "shrubs": shrubs, "native_least": native}
