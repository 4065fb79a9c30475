"""Runoff of a storm from lawn and mixed ground by curve number, and the volumetric coefficient of paved ground.

Technical Release 55 (Soil Conservation Service, 1986; TR-55) and National Engineering Handbook part 630, chapters 9 and
10; Schueler (1987). Curve numbers run 0 to 100. Roofs and lawn are to be run apart, never by one weighted number: the
runoff of a mean curve number is far below the mean of their runoffs.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screening.units import INCH_MM

__all__ = [
    "PAVED_CURVE_NUMBER",
    "URBAN_CURVE_NUMBERS",
    "composite_curve_number",
    "dry_curve_number",
    "initial_abstraction_mm",
    "retention_mm",
    "retention_twentieth_mm",
    "runoff_mm",
    "unconnected_curve_number",
    "volumetric_coefficient",
    "wet_curve_number",
]

Floats = NDArray[np.float64]

PAVED_CURVE_NUMBER: Final = 98.0
"""Roofs, drives and other paving in every soil group."""

URBAN_CURVE_NUMBERS: Final = MappingProxyType(
    {
        "lawn, poor": (68, 79, 86, 89),
        "lawn, fair": (49, 69, 79, 84),
        "lawn, good": (39, 61, 74, 80),
        "gravel": (76, 85, 89, 91),
        "dirt": (72, 82, 87, 89),
        "newly graded": (77, 86, 91, 94),
        "woods, poor": (45, 66, 77, 83),
        "woods, fair": (36, 60, 73, 79),
        "woods, good": (30, 55, 70, 77),
    }
)
"""Curve numbers of pervious ground for groups A to D (TR-55 tables 2-2a and 2-2c); lawn is poor under 50% grass cover,
good over 75%."""


def retention_mm(curve_number: ArrayLike) -> Floats:
    """Potential maximum retention S = 25400 / CN - 254 [mm] (TR-55 equation 2-4)."""
    return np.asarray(1000.0 * INCH_MM / np.asarray(curve_number, dtype=np.float64) - 10.0 * INCH_MM)


def initial_abstraction_mm(curve_number: ArrayLike) -> Floats:
    """Rain held before any runs off, 0.2 S [mm] (TR-55 equation 2-2)."""
    return np.asarray(0.2 * retention_mm(curve_number))


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


def composite_curve_number(pervious_curve_number: ArrayLike, impervious_pct: ArrayLike) -> Floats:
    """Curve number of ground whose paving drains straight to the drain: CNp + (Pimp / 100)(98 - CNp) (figure 2-3)."""
    pervious = np.asarray(pervious_curve_number, dtype=np.float64)
    return np.asarray(pervious + np.asarray(impervious_pct) / 100.0 * (PAVED_CURVE_NUMBER - pervious))


def unconnected_curve_number(
    pervious_curve_number: ArrayLike, impervious_pct: ArrayLike, unconnected_share: ArrayLike
) -> Floats:
    """Curve number where part of the paving drains onto pervious ground (TR-55 figure 2-4).

    CNp + (Pimp / 100)(98 - CNp)(1 - 0.5 R), for less than 30% paving; from there on as if all were connected.

    Parameters
    ----------
    pervious_curve_number
        Curve number of the pervious ground.
    impervious_pct
        Paving and roofs. [%]
    unconnected_share
        Share R of them that drains onto pervious ground, 0 to 1.
    """
    connected = composite_curve_number(pervious_curve_number, impervious_pct)
    pervious = np.asarray(pervious_curve_number, dtype=np.float64)
    part = (connected - pervious) * (1.0 - 0.5 * np.asarray(unconnected_share))
    return np.where(np.asarray(impervious_pct) < 30.0, pervious + part, connected)


def dry_curve_number(curve_number: ArrayLike) -> Floats:
    """Curve number on dry ground: 4.2 CN / (10 - 0.058 CN) (Chow, Maidment and Mays 1988, section 5.5)."""
    number = np.asarray(curve_number, dtype=np.float64)
    return np.asarray(4.2 * number / (10.0 - 0.058 * number))


def wet_curve_number(curve_number: ArrayLike) -> Floats:
    """Curve number on wet ground: 23 CN / (10 + 0.13 CN) (Chow, Maidment and Mays 1988, section 5.5)."""
    number = np.asarray(curve_number, dtype=np.float64)
    return np.asarray(23.0 * number / (10.0 + 0.13 * number))


def retention_twentieth_mm(curve_number: ArrayLike) -> Floats:
    """Retention that goes with an initial abstraction of 0.05 S: 1.33 S^1.15, in inches (Woodward et al. 2003) [mm]."""
    return np.asarray(1.33 * (retention_mm(curve_number) / INCH_MM) ** 1.15 * INCH_MM)


def volumetric_coefficient(impervious_pct: ArrayLike) -> Floats:
    """Volumetric runoff coefficient Rv = 0.05 + 0.009 I (Schueler 1987), I in percent."""
    return np.asarray(0.05 + 0.009 * np.asarray(impervious_pct, dtype=np.float64))
