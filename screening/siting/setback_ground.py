"""Ground that is itself unfit: steep, wet, washed by concentrated flow, wet or rocky below, or not assessed."""

from __future__ import annotations

import math
from typing import Any, Final

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from screening.area import AreaContext, Block
from screening.grid import NODATA, WALL
from screening.rules import Rules
from screening.siting.lot_cells import lot_numbers
from screening.siting.outlines import outlines
from screening.siting.setback_rows import no_rows, setback_rows

__all__ = [
    "bed_bottom_m",
    "bedrock",
    "concentrated_flow",
    "least_cells",
    "no_elevation",
    "steep_ground",
    "water_table",
    "wet_hollows",
]

_TILE: Final = 32
"""Large regions are cut into tiles of so many cells, so that no lot carries the outline of a whole hillside."""


def steep_ground(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Patches of ground steeper than the rule, larger than a mere bank; what lies under a roof is not ground."""
    rules = context.rules
    steep = (block.rasters["slope_pct"] > rules.steep_ground_pct) & (block.rasters["state"] != WALL)
    if not steep.any():
        return no_rows(context)
    labels, count = ndimage.label(steep)
    area = np.bincount(labels.ravel(), minlength=count + 1) * block.cell_x_m * block.cell_y_m
    large = area >= rules.steep_ground_least_m2
    large[0] = False
    return _cells(block, context, large[labels], rules.steep_ground_setback_m)


def wet_hollows(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Hollows that stand wet: their cells, not their rim."""
    return _cells(block, context, block.rasters["wet"], 0.0)


def concentrated_flow(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Cells that so much ground drains through that the flow would wash a garden out."""
    cells = least_cells(context.rules.upslope_limit_m2, block.cell_x_m * block.cell_y_m)
    return _cells(block, context, block.rasters["accumulation"] >= cells, 0.0)


def least_cells(area_m2: float, cell_m2: float) -> int:
    """Fewest cells whose area is no less than a given one."""
    cells = math.ceil(area_m2 / cell_m2)
    while cells > 0 and (cells - 1) * cell_m2 >= area_m2:
        cells -= 1
    while cells * cell_m2 < area_m2:
        cells += 1
    return cells


def no_elevation(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Cells without elevation: nothing can be judged there."""
    missing = (block.rasters["state"] == NODATA) | ~np.isfinite(block.rasters["heights_m"])
    return _cells(block, context, missing, 0.0)


def bed_bottom_m(rules: Rules) -> float:
    """Depth of the bed's bottom below the lip [m]: ponding, mulch and bed."""
    return (rules.ponding_depth_mm + rules.mulch_mm + rules.bed_depth_mm) / 1000.0


def water_table(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Soils whose water table stands above the bed's bottom."""
    return _soils_above(block, context, "water_table_m")


def bedrock(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Soils with bedrock above the bed's bottom."""
    return _soils_above(block, context, "bedrock_m")


def _soils_above(block: Block, context: AreaContext, column: str) -> gpd.GeoDataFrame:
    if block.soils is None or not len(block.soils.polygons):
        return no_rows(context)
    polygons = block.soils.polygons
    depth = polygons["unit"].map(block.soils.units[column]).to_numpy(dtype=np.float64)
    shallow = depth < bed_bottom_m(context.rules)
    words = np.array([f"{value:.2f} m" for value in depth[shallow]], dtype=object)
    return setback_rows(context, polygons.geometry.to_numpy()[shallow], 0.0, detail=words)


def _cells(block: Block, context: AreaContext, cells: NDArray[Any], clearance_m: float) -> gpd.GeoDataFrame:
    """Outlines of the cells that can stand in the way of a lot."""
    if not cells.any():
        return no_rows(context)
    reach = 1 + int(np.ceil(clearance_m / min(block.cell_x_m, block.cell_y_m)))
    cells = cells & _near_lots(block, reach)
    rows, columns = block.shape
    # tiles lie as they do on the whole raster, whatever part of it the block's window shows
    row_tile = (np.arange(rows) + _numbered(-block.transform.f, block.cell_y_m)) // _TILE
    column_tile = (np.arange(columns) + _numbered(block.transform.c, block.cell_x_m)) // _TILE
    row_tile, column_tile = ((tile - tile[0]).astype(np.int32) for tile in (row_tile, column_tile))
    tile = row_tile[:, None] * (column_tile[-1] + 1) + (column_tile[None, :] + 1)
    tile *= cells
    polygons, _ = outlines(tile, block.transform)
    return setback_rows(context, polygons, clearance_m)


def _near_lots(block: Block, reach: int) -> NDArray[np.bool_]:
    """Cells no farther than so many cells from those of any lot, read once a block."""
    return block.once((_near_lots, reach), lambda: _widened(lot_numbers(block) > 0, reach))


def _widened(cells: NDArray[np.bool_], reach: int) -> NDArray[np.bool_]:
    """Cells no farther than so many rows and columns from one that is in."""
    high = cells.copy()
    for step in range(1, reach + 1):
        high[step:] |= cells[:-step]
        high[:-step] |= cells[step:]
    found = high.copy()
    for step in range(1, reach + 1):
        found[:, step:] |= high[:, :-step]
        found[:, :-step] |= high[:, step:]
    return found


def _numbered(edge_m: float, cell_m: float) -> int:
    """Number, modulo the tile, of the raster's row or column that begins at an edge, counted from the CRS's origin.

    A third is added so that neither whole nor half cells, as rasters lie, come to hang on the last digit.
    """
    return math.floor(edge_m / cell_m + 1.0 / 3.0) % _TILE
