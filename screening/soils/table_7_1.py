"""Hydrologic soil group from depths and conductivity: NEH part 630, chapter 7, table 7-1 (January 2009).

Groups follow from the depth to a water-impermeable layer, the depth to the high water table and the saturated
conductivity of the least transmissive layer within a depth that the first two decide. Each class is "more than the
lower bound, at most the upper". A soil with its water table above 60 cm gets a dual group: the letter it would have if
drained, and D.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from screening.soils.groups import GROUPS, UNKNOWN

__all__ = ["IMPERMEABLE_KSAT_UM_S", "hydrologic_group", "least_ksat"]

Floats = NDArray[np.float64]

IMPERMEABLE_KSAT_UM_S: Final = 0.01
"""A layer slower than this counts as water-impermeable [um/s]."""
SHALLOW_CUTS_UM_S: Final = (40.0, 10.0, 1.0)
"""Lower bounds of A, B and C where the conductivity is that of the upper 50 or 60 cm [um/s]."""
DEEP_CUTS_UM_S: Final = (10.0, 4.0, 0.4)
"""Lower bounds of A, B and C where the conductivity is that of the upper 100 cm [um/s]."""


def hydrologic_group(
    impermeable_cm: ArrayLike,
    water_table_cm: ArrayLike,
    ksat_0_50_um_s: ArrayLike,
    ksat_0_60_um_s: ArrayLike,
    ksat_0_100_um_s: ArrayLike,
) -> NDArray[np.str_]:
    """Group by table 7-1.

    Parameters
    ----------
    impermeable_cm
        Depth to the water-impermeable layer; NaN where none was seen in the profile. [cm]
    water_table_cm
        Depth to the high water table; NaN where none was seen. [cm]
    ksat_0_50_um_s, ksat_0_60_um_s, ksat_0_100_um_s
        Conductivity of the least transmissive layer from the surface to 50, 60 and 100 cm; NaN where unknown. [um/s]

    Returns
    -------
    numpy.ndarray
        A, B, C, D, A/D, B/D, C/D, or unknown where the conductivity that decides is unknown.
    """
    impermeable, table, k50, k60, k100 = np.broadcast_arrays(
        *(np.asarray(values, dtype=np.float64) for values in (impermeable_cm, water_table_cm)),
        *(np.asarray(values, dtype=np.float64) for values in (ksat_0_50_um_s, ksat_0_60_um_s, ksat_0_100_um_s)),
    )
    impermeable = np.where(np.isnan(impermeable), np.inf, impermeable)
    table = np.where(np.isnan(table), np.inf, table)
    deep, wet = impermeable > 100.0, table < 60.0
    by_100 = deep & (wet | (table > 100.0))
    ksat = np.where(by_100, k100, np.where(wet, k60, k50))
    letter = np.where(by_100, _letter(ksat, DEEP_CUTS_UM_S), _letter(ksat, SHALLOW_CUTS_UM_S))
    group = np.where(wet & np.isin(letter, ("A", "B", "C")), np.char.add(letter, "/D"), letter)
    return np.where(impermeable < 50.0, "D", group)


def _letter(ksat_um_s: Floats, cuts_um_s: tuple[float, ...]) -> NDArray[np.str_]:
    """Letter of a conductivity: A above the first cut, then B, C and D."""
    below = sum((ksat_um_s <= cut).astype(np.int64) for cut in cuts_um_s)
    letters = np.asarray(GROUPS)[below]
    return np.where(np.isnan(ksat_um_s), UNKNOWN, letters)


def least_ksat(horizons: pd.DataFrame, to_cm: float | pd.Series, *, from_cm: float = 0.0) -> pd.Series:
    """Conductivity of the least transmissive layer of each profile within a depth.

    Parameters
    ----------
    horizons
        Columns ``cokey``, ``hzdept_r`` and ``hzdepb_r`` [cm], ``ksat_r`` [um/s]. A layer counts when any of it lies
        within the depth; one that begins exactly at its end does not.
    to_cm
        Lower end of the depth, one for all or one for each ``cokey``. [cm]
    from_cm
        Upper end. [cm]

    Returns
    -------
    pandas.Series
        Conductivity by ``cokey``; NaN where the layers within the depth are not all known or do not fill it. [um/s]
    """
    limit = horizons["cokey"].map(to_cm) if isinstance(to_cm, pd.Series) else pd.Series(to_cm, index=horizons.index)
    top = horizons["hzdept_r"].clip(lower=from_cm)
    bottom = horizons["hzdepb_r"].clip(upper=limit)
    counted = bottom > top
    layers = pd.DataFrame(
        {
            "cokey": horizons["cokey"],
            "ksat": horizons["ksat_r"].where(horizons["ksat_r"].notna(), -np.inf),
            "thickness": bottom - top,
            "wanted": limit - from_cm,
        }
    )[counted]
    profiles = layers.groupby("cokey").agg(
        ksat=("ksat", "min"), thickness=("thickness", "sum"), wanted=("wanted", "first")
    )
    known = np.isfinite(profiles["ksat"]) & (profiles["thickness"] >= profiles["wanted"] - 1e-9)
    found = profiles["ksat"].where(known)
    return found.reindex(pd.Index(horizons["cokey"].unique(), name="cokey")).rename("ksat_um_s")
