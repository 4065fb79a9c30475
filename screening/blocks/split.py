"""Cut an area into blocks: some lots each, with what lies around them.

Nothing in a stage depends on which lots share its block; blocks only bound memory and let many machines share a
county.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any, Final

import numpy as np
from affine import Affine
from numpy.typing import NDArray

from screening.area import Area, Block, SoilMap
from screening.lot_rules import OwnRules, rule_sets
from screening.rules import Rules
from screening.sources import RasterSource, Window

__all__ = ["HALO_M", "LOTS_PER_BLOCK", "make_block", "split"]

LOTS_PER_BLOCK: Final = 5000
"""Lots in a block at most, unless more share one square of the area."""

HALO_M: Final = 80.0
"""Ground around a block's lots that its stages may look at [m]."""


def split(
    area: Area,
    rasters: Mapping[str, RasterSource],
    lots_per_block: int = LOTS_PER_BLOCK,
    halo_m: float = HALO_M,
    *,
    rules: Rules | None = None,
    own_rules: OwnRules | None = None,
) -> Iterator[Block]:
    """Yield the area's blocks, in an order that depends on nothing but the lots.

    Parameters
    ----------
    area
        The area; its lots decide the blocks.
    rasters
        Whole-area rasters by the names of ``Block.rasters``.
    lots_per_block
        How many lots a block holds at most.
    halo_m
        How far around its lots a block's window reaches [m].
    rules, own_rules
        Rules of the area and of single lots: the lots of one block have one set of them.
    """
    ids = area.layers["lots"]["lot_id"].to_numpy(dtype=object)
    for positions in _groups(area, lots_per_block):
        for rows, _ in rule_sets(ids[positions], rules or Rules(), own_rules or {}):
            yield make_block(area, rasters, positions[rows], halo_m)


def make_block(
    area: Area, rasters: Mapping[str, RasterSource], positions: NDArray[np.int64], halo_m: float = HALO_M
) -> Block:
    """Cut the block of the lots at these positions out of the area."""
    lots = area.layers["lots"].iloc[positions].reset_index(drop=True)
    grid = area.elevation
    window = _window(lots.total_bounds, grid.transform, grid.shape, halo_m)
    transform = grid.transform @ Affine.translation(window.column, window.row)
    box = (
        transform.c,
        transform.f + window.rows * transform.e,
        transform.c + window.columns * transform.a,
        transform.f,
    )
    soils = area.soils
    if soils is not None:
        soils = SoilMap(_within(soils.polygons, box), soils.units)
    surface = None
    if area.surface is not None and area.surface.shape == grid.shape and area.surface.transform == grid.transform:
        surface = area.surface.heights_m()[window.slices]
    return Block(
        lots=lots,
        layers={name: _within(layer, box) for name, layer in area.layers.items()},
        transform=transform,
        rasters={name: source.read(window) for name, source in rasters.items()},
        soils=soils,
        surface=surface,
    )


def _within(layer: Any, box: tuple[float, float, float, float]) -> Any:
    """Features whose bounding box meets the window, in their order."""
    bounds = layer.geometry.bounds.to_numpy()
    west, south, east, north = box
    meets = (bounds[:, 0] <= east) & (bounds[:, 2] >= west) & (bounds[:, 1] <= north) & (bounds[:, 3] >= south)
    return layer[meets].reset_index(drop=True)


def _window(bounds: NDArray[np.float64], transform: Affine, shape: tuple[int, int], halo_m: float) -> Window:
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


def _groups(area: Area, lots_per_block: int) -> Iterator[NDArray[np.int64]]:
    """Positions of the lots of each block: halve the area across its longer side until each part is small enough."""
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
