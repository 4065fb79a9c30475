"""The shape of the land before anybody built: a ridge, a valley with its stream, a bluff, a draw and gentle waves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from affine import Affine
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import cKDTree
from shapely.geometry import LineString, Polygon, box

from scripts.demo_area_maker.warp import U_LENGTH_M, shape_to_ground, to_plan

Floats = NDArray[np.float64]

CELL_M = 1.0
MARGIN_M = 14.0
STREAM_START_M, STREAM_FALL = 42.0, 0.011


@dataclass(frozen=True)
class Frame:
    """The raster's cells: ``left`` and ``top`` of the first, and how many."""

    left: float
    top: float
    rows: int
    columns: int

    @property
    def transform(self) -> Affine:
        """From column and row to ground coordinates [m]."""
        return Affine(CELL_M, 0.0, self.left, 0.0, -CELL_M, self.top)

    def outline(self) -> Polygon:
        """The raster's edge on the ground."""
        return box(self.left, self.top - CELL_M * self.rows, self.left + CELL_M * self.columns, self.top)

    def centres(self) -> tuple[Floats, Floats]:
        """Ground coordinates of every cell's centre [m]."""
        x = self.left + CELL_M * (np.arange(self.columns) + 0.5)
        y = self.top - CELL_M * (np.arange(self.rows) + 0.5)
        return tuple(np.meshgrid(x, y))


def frame_around(shapes: list[Polygon]) -> Frame:
    """The raster that holds all shapes with a margin."""
    left, low, right, high = shapely.total_bounds(shapes)
    left, top = np.floor(left - MARGIN_M), np.ceil(high + MARGIN_M)
    rows, columns = int(np.ceil(top - low + MARGIN_M)), int(np.ceil(right - left + MARGIN_M))
    return Frame(float(left), float(top), rows, columns)


def smooth_step(low: float, high: float, value: Floats) -> Floats:
    """0 below ``low``, 1 above ``high``, and smooth between."""
    t = np.clip((value - low) / (high - low), 0.0, 1.0)
    return t * t * (3.0 - 2.0 * t)


def stream_v(u: Floats) -> Floats:
    """Where the stream runs on the plan [m]."""
    return 306.0 + 12.0 * np.sin(2 * np.pi * u / 330.0 + 0.5) + 5.0 * np.sin(2 * np.pi * u / 128.0)


def stream_line() -> LineString:
    """The stream on the ground, past the lots at both ends but within the raster."""
    u = np.arange(-9.0, U_LENGTH_M + 2.0, 4.0)
    return shape_to_ground(LineString(np.column_stack([u, stream_v(u)])))


def draw_u(v: Floats) -> Floats:
    """Where the draw runs on the plan [m]."""
    return 418.0 + 22.0 * np.sin(2 * np.pi * (v - 330.0) / 300.0)


def waves(frame: Frame, seed: int, length_m: float, height_m: float) -> Floats:
    """A smooth random surface of the given wave length and standard deviation."""
    rng = np.random.default_rng([seed, 2, int(length_m)])
    rough = rng.standard_normal((frame.rows // 4 + 1, frame.columns // 4 + 1))
    soft = ndimage.gaussian_filter(rough, length_m / 4.0 / 3.0, mode="reflect")
    fine = ndimage.zoom(soft / soft.std(), 4, order=1, grid_mode=True, mode="nearest")
    out: Floats = height_m * ndimage.gaussian_filter(fine, 3.0)[: frame.rows, : frame.columns]
    return out


def natural_ground(frame: Frame, seed: int) -> Floats:
    """Heights of the land before streets and houses [m]."""
    x, y = frame.centres()
    u, v = to_plan(x, y)
    away = v - stream_v(u)
    bed = STREAM_START_M - STREAM_FALL * u
    banks = 1.3 * smooth_step(1.5, 7.0, np.abs(away))
    south = 0.021 * np.maximum(-away - 6.0, 0.0) + 0.9 * smooth_step(150.0, 240.0, -away)
    bluff = (4.0 + 10.5 * smooth_step(300.0, 430.0, u) + 1.5 * smooth_step(600.0, 800.0, u)) * smooth_step(
        24.0, 74.0, away
    )
    climb = np.maximum(away - 74.0, 0.0)
    ridge_v = 684.0 + 14.0 * np.sin(2 * np.pi * u / 520.0)
    north = 0.036 * climb + 2.6 * smooth_step(150.0, 235.0, away) + 4.4 * smooth_step(245.0, 350.0, away)
    behind = 0.085 * np.maximum(v - ridge_v, 0.0) ** 2 / (14.0 + np.maximum(v - ridge_v, 0.0))
    hill = (
        -4.5 * np.exp(-(((u - draw_u(v)) / 26.0) ** 2)) * smooth_step(36.0, 120.0, away) * smooth_step(690.0, 560.0, v)
    )
    east = 2.6 * np.exp(-(((u - 650.0) / 110.0) ** 2 + ((v - 560.0) / 70.0) ** 2))
    ground = bed + banks + south + np.where(away > 0, bluff + north, 0.0) - behind + hill + east
    return ground + waves(frame, seed, 150.0, 0.55) + waves(frame, seed, 60.0, 0.10) + hollows(u, v)


def hollows(u: Floats, v: Floats) -> Floats:
    """Two shallow bowls where water stands: one behind houses, one in the park [m]."""
    out = np.zeros_like(u)
    for at_u, at_v, radius, depth in ((150.0, 178.0, 17.0, 0.75), (640.0, 182.0, 22.0, 0.8)):
        away = np.hypot(u - at_u, v - at_v) / radius
        out -= depth * np.where(away < 1.0, (1.0 - away**2) ** 2, 0.0)
    return out


def sample(frame: Frame, surface: Floats, points: Floats) -> Floats:
    """Heights at points, bilinear [m]."""
    columns = (points[:, 0] - frame.left) / CELL_M - 0.5
    rows = (frame.top - points[:, 1]) / CELL_M - 0.5
    heights: Floats = ndimage.map_coordinates(surface, [rows, columns], order=1, mode="nearest")
    return heights


PAVED_HALF_M, SUNK_M, KERB_M = 3.9, 0.30, 0.13


def road_profile(away_m: Floats) -> Floats:
    """Height across a street over its centre line's design height: crown, gutter, kerb, verge [m]."""
    crown = -0.022 * np.minimum(away_m, PAVED_HALF_M)
    kerb = KERB_M * smooth_step(PAVED_HALF_M, PAVED_HALF_M + 0.5, away_m)
    return crown + kerb + 0.025 * np.clip(away_m - PAVED_HALF_M - 0.5, 0.0, 5.0)


def with_roads(frame: Frame, ground: Floats, streets: list[tuple[str, LineString]]) -> Floats:
    """Ground with every street's bed cut or filled in along a smooth profile of its own [m]."""
    graded = ndimage.gaussian_filter(ground, 9.0)
    along = [np.array([line.interpolate(d).coords[0] for d in np.arange(0.0, line.length, 1.0)]) for _, line in streets]
    x, y = frame.centres()
    cells = np.column_stack([x.ravel(), y.ravel()])
    weight = np.zeros(len(cells))
    height = np.zeros(len(cells))
    nearest = np.full(len(cells), np.inf)
    for points in along:
        design = ndimage.gaussian_filter1d(sample(frame, graded, points), 14.0, mode="nearest") - SUNK_M
        away, which = cKDTree(points).query(cells, distance_upper_bound=22.0)
        close = np.isfinite(away)
        pull = 1.0 / (0.6 + away[close]) ** 4
        weight[close] += pull
        height[close] += pull * design[which[close]]
        nearest = np.minimum(nearest, away)
    near = np.isfinite(nearest)
    bed = height[near] / weight[near] + road_profile(nearest[near])
    blend = 1.0 - smooth_step(5.5, 17.0, nearest[near])
    out = ground.ravel().copy()
    out[near] += blend * (bed - out[near])
    return out.reshape(ground.shape)
