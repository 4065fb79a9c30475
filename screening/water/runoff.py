"""Runoff of a storm from lawn by curve number.

Technical Release 55 (Soil Conservation Service, 1986; TR-55) and National Engineering Handbook part 630, chapters 9 and
10. Curve numbers run 0 to 100. Roofs and lawn are to be run apart, never by one weighted number: the runoff of a mean
curve number is far below the mean of their runoffs.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screening.units import INCH_MM

__all__ = ["LAWN_CURVE_NUMBERS", "retention_mm", "runoff_mm"]

Floats = NDArray[np.float64]

LAWN_CURVE_NUMBERS: Final = MappingProxyType(
    {"poor": (68, 79, 86, 89), "fair": (49, 69, 79, 84), "good": (39, 61, 74, 80)}
)
"""Curve numbers of lawn for groups A to D by its condition (TR-55 table 2-2a, open space): poor under 50% grass cover,
good over 75%."""


def retention_mm(curve_number: ArrayLike) -> Floats:
    """Potential maximum retention S = 25400 / CN - 254 [mm] (TR-55 equation 2-4)."""
    return np.asarray(1000.0 * INCH_MM / np.asarray(curve_number, dtype=np.float64) - 10.0 * INCH_MM)


def runoff_mm(rain_mm: ArrayLike, curve_number: ArrayLike) -> Floats:
    """Runoff of a storm: (P - 0.2 S)^2 / (P + 0.8 S), none until P exceeds 0.2 S (TR-55 equation 2-3).

    Parameters
    ----------
    rain_mm
        Rain of the storm. [mm]
    curve_number
        Curve number of the ground.

    Returns
    -------
    numpy.ndarray
        Runoff. [mm]
    """
    rain, retention = np.broadcast_arrays(np.asarray(rain_mm, dtype=np.float64), retention_mm(curve_number))
    over = np.maximum(rain - 0.2 * retention, 0.0)
    return np.asarray(np.divide(over**2, rain + 0.8 * retention, out=np.zeros_like(over), where=over > 0))
