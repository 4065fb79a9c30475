"""Roof planes beside successive mitred buffers: where the fronts have come is the footprint shrunk in small steps."""

import numpy as np
import pytest
import shapely

from screening.roofs.planes import roof_planes
from tests.roofs.made_up import footprints, polygons

CELL_M = 0.1
STEP_M = 0.05
ERROR_M = 0.05
"""The buffers are simplified by a hundredth of each step, which adds up with the steps (measured: up to 0.03 m)."""


def cells(shape):
    """Centres of the cells of a raster that lie inside a footprint."""
    west, south, east, north = shape.bounds
    x, y = np.meshgrid(np.arange(west, east, CELL_M) + CELL_M / 2, np.arange(south, north, CELL_M) + CELL_M / 2)
    inside = shapely.contains_xy(shape, x, y)
    return x[inside], y[inside]


def heights_by_planes(shape, x, y):
    """Distance from the eave of the plane that each point lies in."""
    planes = roof_planes(footprints(shape), np.ones(len(footprints(shape).xy_m)))
    shapes, edges = planes.polygons()
    point, plane = shapely.STRtree(shapes).query(shapely.points(x, y), predicate="intersects")
    feet = planes.footprints
    start, end = feet.xy_m[edges[plane]], feet.xy_m[feet.ends[edges[plane]]]
    along = (end - start) / np.hypot(*(end - start).T)[:, np.newaxis]
    off = np.column_stack([x, y])[point] - start
    heights = np.full(len(x), np.nan)
    heights[point] = along[:, 0] * off[:, 1] - along[:, 1] * off[:, 0]
    return heights


def heights_by_buffers(shape, x, y):
    """The rise at which each point drops out of the footprint as it is shrunk step by step."""
    heights = np.zeros(len(x))
    while not shape.is_empty:
        shape = shapely.buffer(shape, -STEP_M, join_style="mitre", mitre_limit=1e6)
        heights[shapely.contains_xy(shape, x, y)] += STEP_M
    return heights


@pytest.mark.parametrize("family", ["T", "U", "cross", "courtyard", "rectilinear", "comb", "star", "star with hole"])
def test_planes_rise_as_shrunken_footprints_do(family):
    for shape in polygons(family, 2, seed=21):
        x, y = cells(shape)
        by_planes, by_buffers = heights_by_planes(shape, x, y), heights_by_buffers(shape, x, y)
        assert not np.isnan(by_planes).any()
        outside = (by_planes < by_buffers - ERROR_M) | (by_planes > by_buffers + STEP_M + ERROR_M)
        assert outside.mean() < 3e-4
