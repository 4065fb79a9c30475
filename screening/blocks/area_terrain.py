"""The whole area's terrain: what the stages need to know of every cell, before any lot is looked at.

Roofs are walls, inlets and open water are outlets. Where a cell's water ends, and whose foundations it nears on the
way, outruns any block, so it is found here, once.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray
from rasterio.features import rasterize

from screening.area import Area
from screening.grid import NODATA, OUTLET, VALID, WALL, Grid
from screening.rules import Rules
from screening.siting.burning import burn
from screening.siting.overflow import area_downstream, inlet_labels
from screening.sources import ArraySource, RasterSource
from screening.terrain import gradient_at_scale, route, upslope_unknown
from screening.terrain.threads import crew

__all__ = ["area_terrain", "cell_states", "wet_hollows"]


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


def _in_metres(values: NDArray[np.floating], factor: float) -> NDArray[np.floating]:
    """Values in units of the elevation as metres; those that are metres already are not copied."""
    return values if factor == 1.0 else values * factor


def _slopes(area: Area, rules: Rules, threads: int) -> tuple[NDArray[np.float64], ...]:
    """Rise to the east and to the north, and the slope [%], of the ground without roofs."""
    dz_dx, dz_dy = gradient_at_scale(area.elevation, rules.slope_scale_m, threads=threads)
    slope_pct = np.hypot(dz_dx, dz_dy)
    slope_pct *= 100.0
    return dz_dx, dz_dy, slope_pct


def area_terrain(area: Area, rules: Rules, *, threads: int = 2) -> dict[str, RasterSource]:
    """Route the area's water and measure its ground.

    Returns
    -------
    dict
        Sources by the names of ``Block.rasters``; ``upslope_unknown`` only where the rules ask for run-on.
    """
    grid = cell_states(area)
    routing = route(grid, threads=threads)
    factor = grid.height_factor
    hollows = routing.hollows
    # following the water keeps one core busy, and slopes need nothing of it
    jobs: tuple[Callable[[], tuple[NDArray[Any], ...]], ...] = (
        lambda: area_downstream(area, routing.direction, rules),
        lambda: _slopes(area, rules, threads),
    )
    with crew(threads, lambda: None) as hands:
        (reaches, enters), (dz_dx, dz_dy, slope_pct) = hands.map(lambda _, number: jobs[number](), len(jobs))
    layers: dict[str, NDArray[Any]] = {
        "heights_m": grid.heights_m(),
        "state": grid.state,
        "slope_pct": slope_pct,
        "dz_dx": dz_dx,
        "dz_dy": dz_dy,
        "direction": routing.direction,
        "accumulation": routing.accumulation,
        "hollow_depth_m": _in_metres(routing.hollow_depth, factor),
        "wet": wet_hollows(
            routing.hollow_id,
            hollows.depth_m(factor),
            hollows.area_m2(grid.cell_area_m2),
            rules,
        ),
        "carved_m": np.zeros(grid.shape) if routing.carved is None else _in_metres(routing.carved, factor),
        "reaches": reaches,
        "enters": enters,
        "inlet": inlet_labels(area, routing.direction),
    }
    if rules.run_on:
        layers["upslope_unknown"] = upslope_unknown(grid, routing.direction)
    return {name: ArraySource(values, grid.transform, grid.crs) for name, values in layers.items()}
