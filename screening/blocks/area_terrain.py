"""The whole area's terrain: what the stages need to know of every cell, before any lot is looked at.

Roofs are walls, inlets and open water are outlets. Where a cell's water ends, and whose foundations it nears on the
way, outruns any block, so it is found here, once.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray
from rasterio.features import rasterize

from screening.area import Area
from screening.blocks.made_rasters import MadeSource, slope_sources
from screening.grid import NODATA, OUTLET, VALID, WALL, Grid
from screening.rules import Rules
from screening.siting.burning import burn
from screening.siting.overflow import area_downstream, inlet_labels
from screening.sources import ArraySource, RasterSource, Window
from screening.streets.catchments import catchments, no_catchments
from screening.terrain import route, upslope_unknown
from screening.terrain.routing import depth_below, depth_cut

__all__ = ["area_catchments", "area_terrain", "cell_states", "wet_hollows"]


def cell_states(area: Area) -> Grid:
    """The elevation with its roofs as walls and its inlets and open water as outlets."""
    grid = area.elevation
    state = np.array(grid.state)
    ground = state != NODATA
    for layer in ("water", "inlets"):
        features = area.layers.get(layer)
        if features is not None and len(features):
            shapes = ((geometry, 1) for geometry in features.geometry)
            how: dict[str, Any] = {"transform": grid.transform, "all_touched": True, "dtype": "uint8"}
            state[(rasterize(shapes, out_shape=grid.shape, **how) > 0) & ground] = OUTLET
    roofs = area.layers.get("roofs")
    if roofs is not None and len(roofs):
        burnt = np.zeros(grid.shape, dtype=np.uint32)
        burn(roofs.geometry.to_numpy(), 1, grid.transform, burnt)
        state[(burnt > 0) & ground] = WALL
    if not ((state == VALID) | (state == OUTLET)).any():
        return grid
    return grid.with_state(state)


def wet_hollows(
    hollow_id: NDArray[np.int32], deepest_m: NDArray[np.float64], area_m2: NDArray[np.float64], rules: Rules
) -> NDArray[np.bool_]:
    """Cells of hollows deep and large enough to stand wet.

    Parameters
    ----------
    hollow_id
        Number of the hollow of each cell, 0 outside.
    deepest_m, area_m2
        Depth and area of hollow 1, 2, ...
    """
    counts = np.concatenate([[False], (deepest_m >= rules.hollow_depth_m) & (area_m2 >= rules.hollow_area_m2)])
    cells: NDArray[np.bool_] = counts[hollow_id]
    return cells


def _in_metres(values: NDArray[Any], factor: float) -> NDArray[Any]:
    """Values in units of the elevation as metres; those that are metres already are not copied."""
    return values if factor == 1.0 else values * factor


def area_terrain(area: Area, rules: Rules, *, threads: int = 2) -> dict[str, RasterSource]:
    """Route the area's water and measure its ground.

    Returns
    -------
    dict
        Sources by the names of ``Block.rasters``; ``upslope_unknown`` only where the rules ask for run-on. What a
        window of them can be made of quickly is made where it is read.
    """
    grid = cell_states(area)
    routing = route(grid, threads=threads)
    factor = grid.height_factor
    hollows = routing.hollows
    reaches, enters = area_downstream(area, routing.direction, rules, threads=threads)
    layers: dict[str, NDArray[Any]] = {
        "heights_m": grid.heights_m(),
        "state": grid.state,
        "direction": routing.direction,
        "accumulation": routing.accumulation,
        "wet": wet_hollows(
            routing.hollow_id,
            hollows.depth_m(factor),
            hollows.area_m2(grid.cell_area_m2),
            rules,
        ),
        "reaches": reaches,
        "enters": enters,
        "inlet": inlet_labels(area, routing.direction),
    }
    if rules.run_on:
        layers["upslope_unknown"] = upslope_unknown(grid, routing.direction)
    sources: dict[str, RasterSource] = {
        name: ArraySource(values, grid.transform, grid.crs) for name, values in layers.items()
    }
    ground, natural, conditioned = grid.values, routing.natural, routing.conditioned

    def hollow_depth_m(window: Window) -> NDArray[Any]:
        return _in_metres(depth_below(natural[window.slices], ground[window.slices]), factor)

    def carved_m(window: Window) -> NDArray[Any]:
        return _in_metres(depth_cut(ground[window.slices], conditioned[window.slices]), factor)

    sources["hollow_depth_m"] = MadeSource.on(grid, ground.dtype, hollow_depth_m)
    sources["carved_m"] = MadeSource.on(grid, ground.dtype, carved_m)
    return sources | slope_sources(area.elevation, rules.slope_scale_m)


def area_catchments(area: Area, rasters: Mapping[str, RasterSource]) -> Any:
    """Outlines of the inlets' catchments, as ``fields.TABLES["catchments"]``; no row where no inlets are given."""
    inlets = area.layers.get("inlets")
    if inlets is None or not len(inlets):
        return no_catchments(area.crs)
    ids = [str(name) for name in inlets["inlet_id"]]
    walls = rasters["state"].read() == WALL
    return catchments(rasters["inlet"].read(), walls, area.elevation.transform, ids, area.crs)
