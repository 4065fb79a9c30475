"""Infiltration under a pond as the published equations have it: what the tests hold the steady rate against.

Green and Ampt with the parameters of Rawls, Brakensiek and Miller (1983), Horton and Philip. Drawdown and the year's
balance let a garden empty at the conductivity of the ground alone; each equation here takes in at least as much.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "TEXTURES",
    "Texture",
    "green_ampt_mm",
    "green_ampt_rate_mm_h",
    "horton_mm",
    "horton_rate_mm_h",
    "philip_mm",
    "ponding_time_h",
]

Floats = NDArray[np.float64]

_NEWTON_STEPS: Final = 60


class Texture(NamedTuple):
    """What Green and Ampt's equation asks of a texture."""

    porosity: float
    effective_porosity: float
    suction_mm: float
    ksat_mm_h: float


TEXTURES: Final = MappingProxyType(
    {
        "sand": Texture(0.437, 0.417, 49.5, 117.8),
        "loamy sand": Texture(0.437, 0.401, 61.3, 29.9),
        "sandy loam": Texture(0.453, 0.412, 110.1, 10.9),
        "loam": Texture(0.463, 0.434, 88.9, 3.4),
        "silt loam": Texture(0.501, 0.486, 166.8, 6.5),
        "sandy clay loam": Texture(0.398, 0.330, 218.5, 1.5),
        "clay loam": Texture(0.464, 0.309, 208.8, 1.0),
        "silty clay loam": Texture(0.471, 0.432, 273.0, 1.0),
        "sandy clay": Texture(0.430, 0.321, 239.0, 0.6),
        "silty clay": Texture(0.479, 0.423, 292.2, 0.5),
        "clay": Texture(0.475, 0.385, 316.3, 0.3),
    }
)
"""Parameters by texture (Rawls, Brakensiek and Miller 1983, J. Hydraul. Eng. 109(1):62-70)."""


def green_ampt_mm(
    hours: ArrayLike, ksat_mm_h: ArrayLike, suction_mm: ArrayLike, deficit: ArrayLike, soaked_mm: ArrayLike = 0.0
) -> Floats:
    """Depth soaked in after a time under a pond: F - F0 - s ln((s + F) / (s + F0)) = K t, s = suction x deficit.

    Parameters
    ----------
    hours
        Time since the pond stood. [h]
    ksat_mm_h
        Conductivity K of the ground. [mm/h]
    suction_mm
        Suction at the wetting front. [mm]
    deficit
        Share of the ground's volume that water can still fill, 0 to 1.
    soaked_mm
        Depth F0 soaked in before the pond stood. [mm]

    Returns
    -------
    numpy.ndarray
        Depth F soaked in since the beginning. [mm]
    """
    before = np.asarray(soaked_mm, dtype=np.float64)
    steady = np.asarray(ksat_mm_h, dtype=np.float64) * np.asarray(hours, dtype=np.float64)
    store = np.asarray(suction_mm, dtype=np.float64) * np.asarray(deficit, dtype=np.float64)
    depth = np.asarray(before + steady + np.sqrt(2.0 * store * steady))
    for _ in range(_NEWTON_STEPS):  # from above onto a convex function: never past the root
        lack = depth - before - store * np.log((store + depth) / (store + before)) - steady
        depth = np.where(depth > 0.0, depth - lack * (store + depth) / np.where(depth > 0.0, depth, 1.0), 0.0)
    return np.asarray(depth)


def green_ampt_rate_mm_h(
    depth_mm: ArrayLike, ksat_mm_h: ArrayLike, suction_mm: ArrayLike, deficit: ArrayLike
) -> Floats:
    """Rate at which a pond soaks in when a depth F has soaked in: K (1 + s / F), s = suction x deficit [mm/h]."""
    store = np.asarray(suction_mm, dtype=np.float64) * np.asarray(deficit)
    return np.asarray(np.asarray(ksat_mm_h) * (1.0 + store / np.asarray(depth_mm, dtype=np.float64)))


def ponding_time_h(rain_mm_h: ArrayLike, ksat_mm_h: ArrayLike, suction_mm: ArrayLike, deficit: ArrayLike) -> Floats:
    """Time until steady rain ponds: K s / (i (i - K)), s = suction x deficit; infinite where rain is no faster [h]."""
    rain, ksat = np.broadcast_arrays(np.asarray(rain_mm_h, dtype=np.float64), np.asarray(ksat_mm_h, dtype=np.float64))
    store = np.asarray(suction_mm, dtype=np.float64) * np.asarray(deficit)
    over = np.where(rain > ksat, rain * (rain - ksat), np.nan)
    return np.where(rain > ksat, ksat * store / over, np.inf)


def horton_rate_mm_h(hours: ArrayLike, first_mm_h: ArrayLike, final_mm_h: ArrayLike, decay_per_h: ArrayLike) -> Floats:
    """Rate of a pond's soaking in by Horton: fc + (f0 - fc) exp(-k t) [mm/h]."""
    final = np.asarray(final_mm_h, dtype=np.float64)
    return np.asarray(final + (np.asarray(first_mm_h) - final) * np.exp(-np.asarray(decay_per_h) * np.asarray(hours)))


def horton_mm(hours: ArrayLike, first_mm_h: ArrayLike, final_mm_h: ArrayLike, decay_per_h: ArrayLike) -> Floats:
    """Depth soaked in by Horton: fc t + (f0 - fc) (1 - exp(-k t)) / k [mm]."""
    final, decay = np.asarray(final_mm_h, dtype=np.float64), np.asarray(decay_per_h, dtype=np.float64)
    gone = 1.0 - np.exp(-decay * np.asarray(hours))
    return np.asarray(final * np.asarray(hours) + (np.asarray(first_mm_h) - final) * gone / decay)


def philip_mm(hours: ArrayLike, sorptivity_mm_h05: ArrayLike, ksat_mm_h: ArrayLike) -> Floats:
    """Depth soaked in by Philip's two terms: S t^0.5 + K t; sorptivity S in mm/h^0.5 [mm]."""
    time = np.asarray(hours, dtype=np.float64)
    return np.asarray(np.asarray(sorptivity_mm_h05) * np.sqrt(time) + np.asarray(ksat_mm_h) * time)
