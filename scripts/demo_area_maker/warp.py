"""From the plan's own coordinates (u along the streets, v across them) to metres on the ground.

The plan is drawn on straight lines; a polynomial in the complex number u + iv then bends it. Such a map keeps right
angles, so lots stay square to their streets however the streets curve.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]
Shape = TypeVar("Shape", bound=BaseGeometry)

U_LENGTH_M = 820.0
CENTRE = complex(410.0, 400.0)
RADIUS_M = 450.0
BENDS = (0.070 + 0.045j, 0.020 + 0.060j, -0.022 + 0.012j)
TURN = np.exp(1j * np.radians(-8.0))
WIGGLE_M, WIGGLE_LENGTH_M = 4.5, 310.0


def to_ground(u: Floats, v: Floats) -> tuple[Floats, Floats]:
    """Plan coordinates [m] to ground coordinates [m] with the plan's centre at the origin."""
    v = v + WIGGLE_M * np.sin(2 * np.pi * (u / WIGGLE_LENGTH_M + v / 900.0))
    z = (u + 1j * v - CENTRE) / RADIUS_M
    bent = z + BENDS[0] * z**2 + BENDS[1] * z**3 + BENDS[2] * z**4
    turned = bent * RADIUS_M * TURN
    return turned.real, turned.imag


def to_plan(x: Floats, y: Floats, steps: int = 12) -> tuple[Floats, Floats]:
    """Ground coordinates [m] back to plan coordinates [m], by Newton's method."""
    back = (x + 1j * y) / TURN / RADIUS_M
    z = back.copy()
    for _ in range(steps):
        bent = z + BENDS[0] * z**2 + BENDS[1] * z**3 + BENDS[2] * z**4
        slope = 1 + 2 * BENDS[0] * z + 3 * BENDS[1] * z**2 + 4 * BENDS[2] * z**3
        z = z - (bent - back) / slope
    plan = z * RADIUS_M + CENTRE
    u, v_wiggled = plan.real, plan.imag
    v = v_wiggled.copy()
    for _ in range(steps):
        v = v_wiggled - WIGGLE_M * np.sin(2 * np.pi * (u / WIGGLE_LENGTH_M + v / 900.0))
    return u, v


def shape_to_ground(shape: Shape) -> Shape:
    """A plan geometry on the ground; straight edges stay straight between their vertices."""

    def move(points: Floats) -> Floats:
        return np.column_stack(to_ground(points[:, 0], points[:, 1]))

    return shapely.transform(shape, move)
