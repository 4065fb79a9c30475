"""One lot on the ground: its own frame, and what stands in it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from scripts.demo_area_maker.plan import PlanLot
from scripts.demo_area_maker.warp import Shape, to_ground


@dataclass(frozen=True)
class Lot:
    """A lot on the ground, with its front line and the direction into it."""

    number: int
    plan: PlanLot
    shape: Polygon
    left: np.ndarray
    along: np.ndarray
    inward: np.ndarray
    width_m: float
    depth_m: float

    def on_ground(self, shape: Shape) -> Shape:
        """A shape drawn in the lot's frame (a along the front, b inward), on the ground."""
        axes = np.array([self.along, self.inward])
        return shapely.transform(shape, lambda ab: self.left + ab @ axes)

    def point(self, a: float, b: float) -> np.ndarray:
        """A frame point on the ground."""
        return self.left + a * self.along + b * self.inward


def lot_frame(number: int, plan: PlanLot, shape: Polygon) -> Lot:
    """Find a lot's frame from the ends of its front."""
    ends = np.array(plan.front)
    x, y = to_ground(ends[:, 0], ends[:, 1])
    left, right = np.array([x[0], y[0]]), np.array([x[1], y[1]])
    width = float(np.hypot(*(right - left)))
    along = (right - left) / width
    inward = np.array([-along[1], along[0]])
    depth = float(((shapely.get_coordinates(shape) - left) @ inward).max())
    return Lot(number, plan, shape, left, along, inward, width, depth)


@dataclass
class Built:
    """What stands on one lot."""

    roofs: list[tuple[str, Polygon]] = field(default_factory=list)
    paved: list[tuple[str, Polygon]] = field(default_factory=list)
    basement: bool | None = None
    corners: list[tuple[float, float]] = field(default_factory=list)
    """Corners of the house on the ground, the street's side first."""


def mirror(shape: Shape, width: float) -> Shape:
    """A frame shape seen in a mirror."""
    return shapely.transform(shape, lambda p: np.column_stack([width - p[:, 0], p[:, 1]]))


def largest(shape: BaseGeometry) -> Polygon:
    """The largest polygon of a geometry."""
    parts: list[Polygon] = list(shapely.get_parts(shape))
    return max(parts, key=lambda part: part.area)


def tidy(shape: BaseGeometry) -> Polygon | None:
    """The largest piece of a paved outline without its slivers; None when nothing wide enough is left."""
    wide = shape.buffer(-0.2, join_style="mitre").buffer(0.2, join_style="mitre")
    return None if wide.is_empty else largest(wide.simplify(0.01))


def joined(*boxes: Polygon) -> Polygon:
    """Boxes that touch, as one outline."""
    return largest(shapely.union_all(list(boxes)))
