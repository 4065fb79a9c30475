"""Cut an area into blocks: some lots each, with what lies around them.

Nothing in a stage depends on which lots share its block; blocks only bound memory and let many machines share a
county.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

import numpy as np
from affine import Affine
from numpy.typing import NDArray

from screening.area import Area, Block, SoilMap
from screening.lot_rules import OwnRules, rule_sets
from screening.rules import Rules
from screening.sources import RasterSource, Window

__all__ = ["HALO_M", "LOTS_PER_BLOCK", "cutter", "groups", "lots_per_block"]

LOTS_PER_BLOCK: Final = 2500
"""Lots in a block at most: enough that the ground around them is little beside their own and that what a block costs
whatever it holds is little too, few enough that blocks hold little memory on a large area."""

_LEAST: Final = 200
"""Lots in a block at least, as far as there are: smaller ones cost more than a thread that is busy saves."""

HALO_M: Final = 80.0
"""Ground around a block's lots that its stages may look at [m]."""


def lots_per_block(lots: int, threads: int) -> int:
    """Lots in a block at most: no more than leave every thread a block."""
    return min(LOTS_PER_BLOCK, max(-(-lots // threads), _LEAST))


def cutter(
    area: Area, rasters: Mapping[str, RasterSource], halo_m: float = HALO_M
) -> Callable[[NDArray[np.int64]], Block]:
    """What cuts the block of the lots at given positions out of the area; any thread may call it.

    What is read of the whole area, the bounds of its features above all, is read here, once and in one thread.
    """
    bounds = {name: layer.geometry.bounds.to_numpy() for name, layer in area.layers.items()}
    soil_bounds = None if area.soils is None else area.soils.polygons.geometry.bounds.to_numpy()
    surface_m = _surface_m(area)
    if area.soils is not None:
        area.soils.units.index.get_indexer(area.soils.units.index[:1])  # its hash table, which the blocks share

    def cut(positions: NDArray[np.int64]) -> Block:
        lots = area.layers["lots"].iloc[positions].reset_index(drop=True)
        grid = area.elevation
        low, high = np.nanmin(bounds["lots"][positions, :2], axis=0), np.nanmax(bounds["lots"][positions, 2:], axis=0)
        window = _window((*low.tolist(), *high.tolist()), grid.transform, grid.shape, halo_m)
        transform = grid.transform @ Affine.translation(window.column, window.row)
        box = (
            transform.c,
            transform.f + window.rows * transform.e,
            transform.c + window.columns * transform.a,
            transform.f,
        )
        soils = area.soils
        if soils is not None and soil_bounds is not None:
            soils = SoilMap(_within(soils.polygons, soil_bounds, box), soils.units)
        return Block(
            lots=lots,
            layers={name: _within(layer, bounds[name], box) for name, layer in area.layers.items()},
            transform=transform,
            rasters={name: source.read(window) for name, source in rasters.items()},
            soils=soils,
            surface=None if surface_m is None else surface_m[window.slices],
        )

    return cut


def _surface_m(area: Area) -> NDArray[Any] | None:
    """Heights of the surface where it was given on the cells of the elevation [m]."""
    surface, grid = area.surface, area.elevation
    if surface is None or surface.shape != grid.shape or surface.transform != grid.transform:
        return None
    return surface.heights_m()


def _within(layer: Any, bounds: NDArray[np.float64], box: tuple[float, float, float, float]) -> Any:
    """Features whose bounding box meets the window, in their order."""
    west, south, east, north = box
    meets = (bounds[:, 0] <= east) & (bounds[:, 2] >= west) & (bounds[:, 1] <= north) & (bounds[:, 3] >= south)
    return layer.iloc[np.flatnonzero(meets)].reset_index(drop=True)


def _window(
    bounds: tuple[float, float, float, float], transform: Affine, shape: tuple[int, int], halo_m: float
) -> Window:
    """Cells within the halo of the lots' bounds; at least one cell, on the raster."""
    west, south, east, north = bounds
    column = math.floor((west - halo_m - transform.c) / transform.a)
    row = math.floor((north + halo_m - transform.f) / transform.e)
    columns = math.ceil((east + halo_m - transform.c) / transform.a) - column
    rows = math.ceil((south - halo_m - transform.f) / transform.e) - row
    found = Window(row, column, rows, columns).clipped(shape)
    if found.rows and found.columns:
        return found
    nearest_row, nearest_column = min(max(row, 0), shape[0] - 1), min(max(column, 0), shape[1] - 1)
    return Window(nearest_row, nearest_column, 1, 1)


def groups(
    area: Area, most: int, rules: Rules | None = None, own_rules: OwnRules | None = None
) -> Iterator[NDArray[np.int64]]:
    """Positions of the lots of each block, in an order that hangs on the lots alone; one set of rules in each."""
    ids = area.layers["lots"]["lot_id"].to_numpy(dtype=object)
    for positions in _halves(area, most):
        for rows, _ in rule_sets(ids[positions], rules or Rules(), own_rules or {}):
            yield positions[rows]


def _halves(area: Area, lots_per_block: int) -> Iterator[NDArray[np.int64]]:
    """Positions of lots that lie together: halve the area across its longer side until each part is small enough."""
    bounds = area.layers["lots"].geometry.bounds.to_numpy()
    centres = np.column_stack([bounds[:, 0] + bounds[:, 2], bounds[:, 1] + bounds[:, 3]]) / 2.0
    waiting = [np.arange(len(centres), dtype=np.int64)] if len(centres) else []
    while waiting:
        part = waiting.pop()
        if part.size <= lots_per_block:
            yield part
            continue
        extent = np.ptp(centres[part], axis=0)
        order = part[np.lexsort((part, centres[part, int(extent[1] > extent[0])]))]
        half = part.size // 2
        waiting += [np.sort(order[half:]), np.sort(order[:half])]
