"""Cut and fill under buildings, measurement noise, and the holes in the data."""

from __future__ import annotations

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray
from rasterio.features import rasterize
from scipy import ndimage
from scipy.spatial import cKDTree
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry

from scripts.demo_area_maker.relief import CELL_M, Frame, smooth_step
from scripts.demo_area_maker.warp import shape_to_ground

Floats = NDArray[np.float64]

KEPT_TILT = 0.45
"""Share of the land's slope that a pad keeps, so that water on its uphill side finds a way round."""
SWALE_M, SWALE_HALF_M = 0.24, 1.7
WHITE_NOISE_M, CORRELATED_NOISE_M, CORRELATION_CELLS = 0.03, 0.035, 5.0
NODATA_M = -9999.0


def window(frame: Frame, shape: Polygon, reach: float) -> tuple[slice, slice]:
    """Rows and columns of the cells within ``reach`` of a shape's box."""
    left, low, right, high = shape.bounds
    c0, c1 = int((left - reach - frame.left) / CELL_M), int((right + reach - frame.left) / CELL_M) + 1
    r0, r1 = int((frame.top - high - reach) / CELL_M), int((frame.top - low + reach) / CELL_M) + 1
    return slice(max(r0, 0), min(r1, frame.rows)), slice(max(c0, 0), min(c1, frame.columns))


def with_pad(frame: Frame, ground: Floats, roof: Polygon, kind: str, lift_m: float) -> None:
    """Level the ground under one building and shed water off it for the first metres, in place [m]."""
    reach, firm = (11.0, 2.0) if kind == "house" else (3.5, 0.8)
    rows, columns = window(frame, roof, reach)
    x, y = frame.centres()
    x, y, land = x[rows, columns], y[rows, columns], ground[rows, columns]
    away = np.asarray(shapely.distance(roof, shapely.points(x, y)))
    under = away < 1.0
    middle = np.array([x[under].mean(), y[under].mean()])
    design = np.column_stack([np.ones(under.sum()), x[under] - middle[0], y[under] - middle[1]])
    level, slope_x, slope_y = np.linalg.lstsq(design, land[under], rcond=None)[0]
    plane = level + lift_m + KEPT_TILT * (slope_x * (x - middle[0]) + slope_y * (y - middle[1]))
    grading = 0.05 * np.minimum(away, 3.0) if kind == "house" else 0.02 * np.minimum(away, 3.0)
    hold = 1.0 - smooth_step(firm, reach, away)
    ground[rows, columns] = land + hold * (plane - grading - land)


def with_pads(frame: Frame, ground: Floats, roofs: list[tuple[str, Polygon]], seed: int) -> Floats:
    """Ground with a pad under every house and garage [m]."""
    out = ground.copy()
    rng = np.random.default_rng([seed, 5])
    lifts = rng.uniform(0.18, 0.42, len(roofs))
    for (kind, roof), lift in zip(roofs, lifts, strict=True):
        if kind != "shed":
            with_pad(frame, out, roof, kind, float(lift) if kind == "house" else 0.06)
    return out


def shared_lines(lots: list[Polygon]) -> BaseGeometry:
    """Lot lines between two lots; fronts and outer backs are not among them."""
    shapes = np.array(lots)
    one, two = shapely.STRtree(shapes).query(shapes, predicate="touches")
    pairs = one < two
    lines = shapely.intersection(shapely.boundary(shapes[one[pairs]]), shapely.boundary(shapes[two[pairs]]))
    return shapely.line_merge(shapely.union_all([part for part in shapely.get_parts(lines) if part.length > 0.5]))


def with_swales(frame: Frame, ground: Floats, lines: BaseGeometry, roofs: list[Polygon]) -> Floats:
    """Ground with a shallow swale along the lines between lots, fading out beside buildings [m]."""
    points = np.concatenate([shapely.get_coordinates(part.segmentize(0.5)) for part in shapely.get_parts(lines)])
    x, y = frame.centres()
    away = cKDTree(points).query(np.column_stack([x.ravel(), y.ravel()]), distance_upper_bound=6.0)[0]
    stands = rasterize(roofs, out_shape=ground.shape, transform=frame.transform, all_touched=True)
    from_roof = ndimage.distance_transform_edt(stands == 0) * CELL_M
    depth = SWALE_M * np.exp(-((away.reshape(ground.shape) / SWALE_HALF_M) ** 2))
    out: Floats = ground - depth * smooth_step(0.8, 2.6, from_roof)
    return out


def measured(ground: Floats, seed: int) -> Floats:
    """Heights as an airborne survey would have them: white and correlated error added [m]."""
    rng = np.random.default_rng([seed, 6])
    white = rng.standard_normal(ground.shape) * WHITE_NOISE_M
    field = ndimage.gaussian_filter(rng.standard_normal(ground.shape), CORRELATION_CELLS, mode="wrap")
    heights: Floats = ground + white + field / field.std() * CORRELATED_NOISE_M
    return heights


def with_holes(frame: Frame, heights: Floats) -> Floats:
    """Heights with nodata where the survey saw nothing: a hole over back yards and a cut corner [m]."""
    hole = shape_to_ground(shapely.affinity.scale(Point(455.0, 440.0).buffer(1.0, 24), 13.0, 7.0))
    x, y = frame.centres()
    out = heights.copy()
    out[shapely.contains_xy(hole, x, y)] = NODATA_M
    from_corner = (x - frame.left) + (frame.top - y)
    out[from_corner < 60.0] = NODATA_M
    return out
