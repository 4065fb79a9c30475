"""How much of a downspout's water runs to the drain today, and the ground at its foot."""

from __future__ import annotations

from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.area import AreaContext, Block
from screening.grid import OUTLET, VALID
from screening.siting.burning import burn
from screening.siting.kernels.drain import cross_lawn, plane_heights
from screening.siting.overflow import Stop, block_stops
from screening.terrain.codes import NO_FLOW

__all__ = ["BASES", "downspout_ground", "drain_reach", "inlet_at", "lot_reach", "reach_over_lawn"]

BASES: Final = ("given", "traced", "guessed")
"""How a drain reach is known, the surest first."""

OFF_WALL_M: Final = 1.0
"""Ground nearer to an eave than this is not read: beds, steps and the wall itself. [m]"""

READ_WITHIN_M: Final = 3.0
"""Ground farther from the downspout than this is not read. [m]"""

_LOST_SOAKS: Final = 5.0
"""Water that crossed so many times the lawn it soaks into is lost: less than 1% is left."""


def reach_over_lawn(lawn_m: NDArray[np.float64], soak_m: float) -> NDArray[np.float64]:
    """Share of roof water that is left after lawn.

    Each metre of lawn takes the same share of what is left, a judgement of this project: a few metres of grass hold
    little of a storm's roof water, a wide lawn all but a trace of a year's.

    Parameters
    ----------
    lawn_m
        Lawn crossed. [m]
    soak_m
        Lawn over which it falls to 37%. [m]
    """
    return np.exp(-np.asarray(lawn_m, dtype=np.float64) / soak_m)


def downspout_ground(block: Block, x_m: NDArray[np.float64], y_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Ground at downspouts [m]: a plane through the cells 1 m and more off any eave and within 3 m, carried back.

    Where too few such cells lie around, those within 5 m count; NaN where there are none either.
    """
    near = np.zeros(block.shape, dtype=np.uint32)
    roofs = block.layers.get("roofs")
    if roofs is not None and len(roofs):
        burn(roofs.geometry.to_numpy(), 1, block.transform, near, reach_m=OFF_WALL_M)
    usable = (near == 0).astype(np.uint8)
    heights = np.asarray(block.rasters["heights_m"], dtype=np.float64)
    x, y = np.asarray(x_m) - block.transform.c, block.transform.f - np.asarray(y_m)
    found = np.full(len(x), np.nan)
    cell = max(block.cell_x_m, block.cell_y_m)
    for reach in (max(READ_WITHIN_M, 2.0 * cell), max(5.0, 4.0 * cell)):
        left = np.flatnonzero(np.isnan(found))
        out = np.empty(len(left))
        plane_heights(x[left], y[left], reach, block.cell_x_m, block.cell_y_m, usable, heights, out)
        found[left] = out
    return found


def drain_reach(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Add ``ground_m``, ``reach_share``, ``reach_basis`` and ``inlet`` to the downspouts.

    Water led to a pipe, a street or a drive is in the drain; other water is followed down the ground from 1 m off
    the wall until it meets street, drive, inlet or water, soaking away over the lawn it crosses. Where the way is not
    known to its end, or ends at ground that only may be a street, the share is a guess.
    """
    spouts = block.tables["downspouts"]
    x, y = shapely.get_coordinates(spouts.geometry.to_numpy()).reshape(-1, 2).T
    row, column = _start_cells(block, spouts, x, y)
    share, basis = _traced(block, context, row, column)
    led = spouts["leads_to"].isin(["pipe", "street", "drive"]).to_numpy(dtype=bool)
    out: gpd.GeoDataFrame = spouts.copy()
    out["ground_m"] = downspout_ground(block, x, y)
    out["reach_share"] = np.where(led, 1.0, share)
    out["reach_basis"] = np.where(led, "given", basis)
    out["inlet"] = inlet_at(block, context, row, column)
    return out


def inlet_at(
    block: Block, context: AreaContext, row: NDArray[np.int64], column: NDArray[np.int64]
) -> NDArray[np.object_]:
    """Id of the inlet that the water of cells ends in over the ground, gutters too; None where there is none.

    A row of -1 is no cell.
    """
    number = block.rasters["inlet"][np.maximum(row, 0), column]
    names = np.array([None, *context.inlet_ids], dtype=object)
    return np.asarray(names[np.where(row >= 0, number, 0)])


def lot_reach(block: Block, downspouts: gpd.GeoDataFrame) -> pd.DataFrame:
    """Drain reach of each lot: the mean of its downspouts by share, and the least sure basis among them.

    Returns
    -------
    pandas.DataFrame
        ``drain_reach_share`` and ``drain_reach_basis``, one row a lot in the block's order; missing without downspouts.
    """
    position = pd.Series(np.arange(len(block.lots)), index=block.lots["lot_id"].astype("object"))
    lot = downspouts["lot_id"].astype("object").map(position).to_numpy(dtype=np.int64)
    share = downspouts["share_m2"].to_numpy(dtype=np.float64)
    reach = downspouts["reach_share"].to_numpy(dtype=np.float64)
    known = share > 0
    total = np.bincount(lot[known], share[known], minlength=len(block.lots))
    water = np.bincount(lot[known], (share * reach)[known], minlength=len(block.lots))
    code = pd.Index(BASES).get_indexer(downspouts["reach_basis"])
    worst = np.full(len(block.lots), -1)
    np.maximum.at(worst, lot[known], code[known])
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = water / total
    return pd.DataFrame({"drain_reach_share": mean, "drain_reach_basis": np.array([*BASES, None], dtype=object)[worst]})


def _start_cells(
    block: Block, spouts: gpd.GeoDataFrame, x: NDArray[Any], y: NDArray[Any]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First cell off the wall that water runs over, 1 to 4 m out; row -1 where there is none."""
    rows, columns = block.shape
    state, direction = block.rasters["state"], block.rasters["direction"]
    flows = ((state == VALID) | (state == OUTLET)) & (direction != NO_FLOW)
    row, column = np.full(len(x), -1, dtype=np.int64), np.zeros(len(x), dtype=np.int64)
    out_x, out_y = (spouts[name].to_numpy(dtype=np.float64) for name in ("normal_x", "normal_y"))
    for distance in (1.0, 1.5, 2.0, 3.0, 4.0):
        r = np.floor((y + distance * out_y - block.transform.f) / block.transform.e)
        c = np.floor((x + distance * out_x - block.transform.c) / block.transform.a)
        inside = (r >= 0) & (r < rows) & (c >= 0) & (c < columns) & (row < 0)
        at = np.flatnonzero(inside)
        at = at[flows[r[at].astype(np.int64), c[at].astype(np.int64)]]
        row[at], column[at] = r[at].astype(np.int64), c[at].astype(np.int64)
    return row, column


def _traced(
    block: Block, context: AreaContext, row: NDArray[np.int64], column: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[Any]]:
    """Share that reaches the drain over the ground, and its basis."""
    soak = context.rules.lawn_soak_m
    stops = block_stops(block)
    surface = _surface(block, stops)
    lawn, end = np.empty(len(row)), np.empty(len(row), dtype=np.int64)
    direction = np.ascontiguousarray(block.rasters["direction"])
    cell = (block.cell_x_m, block.cell_y_m)
    cross_lawn(row, column, direction, surface, *cell, _LOST_SOAKS * soak, lawn, end)
    sure = (end == 1) | ((end == 2) & ~(stops == Stop.OFF_LOTS).any())
    share = np.where(end == 1, 0.0, reach_over_lawn(lawn, soak))
    return share, np.where(sure, "traced", "guessed")


def _surface(block: Block, stops: NDArray[np.int32]) -> NDArray[np.uint8]:
    """Lawn 0, paving that leads nowhere sure 1, drives and whatever ends in the drain 2."""
    surface = np.where(stops > 0, np.uint32(2), np.uint32(0))
    paved = block.layers.get("paved")
    if paved is not None and len(paved):
        shapes = paved.geometry.to_numpy()
        drive = paved["kind"].isin(["drive"]).to_numpy(dtype=bool) | paved["kind"].isna().to_numpy()
        burn(shapes, np.where(drive, 2, 1), block.transform, surface)
        surface = np.minimum(surface, 2)
        surface[(surface == 1) & (stops > 0)] = 2
    return surface.astype(np.uint8)
