"""Curve numbers of mixed, dry and wet ground and of paving as published: what the tests hold lawn's numbers against.

Technical Release 55 (Soil Conservation Service, 1986; TR-55) and Schueler (1987). The tool runs roofs and lawn apart
and needs none of this.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screening.units import INCH_MM
from screening.water.runoff import retention_mm

Floats = NDArray[np.float64]

PAVED_CURVE_NUMBER: Final = 98.0
"""Roofs, drives and other paving in every soil group."""

OTHER_CURVE_NUMBERS: Final = {
    "gravel": (76, 85, 89, 91),
    "dirt": (72, 82, 87, 89),
    "newly graded": (77, 86, 91, 94),
    "woods, poor": (45, 66, 77, 83),
    "woods, fair": (36, 60, 73, 79),
    "woods, good": (30, 55, 70, 77),
}
"""Pervious ground other than lawn, groups A to D (TR-55 tables 2-2a and 2-2c)."""


def initial_abstraction_mm(curve_number: ArrayLike) -> Floats:
    """Rain held before any runs off, 0.2 S [mm] (TR-55 equation 2-2)."""
    return np.asarray(0.2 * retention_mm(curve_number))


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
