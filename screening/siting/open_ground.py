"""Open ground: the mask of what takes each lot's ground, the polygons that are left, and what took the rest."""

from __future__ import annotations

from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from affine import Affine
from numpy.typing import NDArray

from screening.area import AreaContext, Block, Tables
from screening.siting.burning import burn
from screening.siting.ground_mask import Constraint, GroundMask
from screening.siting.kernels.tally import tally_bits
from screening.siting.outlines import outlines
from screening.siting.setback_rows import setback_rows
from screening.siting.setbacks import NO_DIGGING, SETBACKS

__all__ = ["MARGIN_CELLS", "OTHER_LOT", "finer_mask", "ground_mask", "open_ground"]

MARGIN_CELLS: Final = 0.25
"""Every setback is read this much wider, in mask cells: a footprint's edge lies between the centres of its cells."""

OTHER_LOT: Final = "another lot"
"""Ground that two lots claim: open to neither."""

_FOLD: Final = 2


def ground_mask(block: Block, context: AreaContext) -> GroundMask:
    """Read every constraint of the block onto mask cells of half the elevation cell, once.

    Parameters
    ----------
    block
        The block; ``tables["roof_pieces"]``, where there, tells the kinds of roofs that the layer does not.
    context
        The rules.
    """
    rows = _things(block, context)
    transform = block.transform @ Affine.scale(1.0 / _FOLD)
    shape = (block.shape[0] * _FOLD, block.shape[1] * _FOLD)
    return _mask(block, rows, transform, shape, _by_lot(block, rows))


def finer_mask(block: Block, mask: GroundMask, lot: int, fold: int = 2) -> GroundMask:
    """Read the mask again for one lot on finer cells, over the lot's own window.

    Parameters
    ----------
    block
        The block of the mask.
    mask
        The block's mask.
    lot
        Position of the lot; ``lot`` of the result is it or -1.
    fold
        Finer by this factor in each direction.
    """
    west, south, east, north = shapely.bounds(block.lots.geometry.to_numpy()[lot])
    coarse = mask.transform
    column, row = int((west - coarse.c) // coarse.a) - 1, int((north - coarse.f) // coarse.e) - 1
    columns = int(-((coarse.c - east) // coarse.a)) + 1 - column
    rows = int(-((south - coarse.f) // -coarse.e)) + 1 - row
    transform = coarse @ Affine.translation(column, row) @ Affine.scale(1.0 / fold)
    mine = mask.obstacles[mask.obstacles["lot"] == lot]
    return _mask(block, mine, transform, (rows * fold, columns * fold), mine, only=lot)


def constraints() -> tuple[Constraint, ...]:
    """Every constraint with its bit."""
    named = [(setback.name, setback.effect) for setback in SETBACKS] + [(OTHER_LOT, NO_DIGGING)]
    return tuple(Constraint(name, bit, effect) for bit, (name, effect) in enumerate(named))


def open_ground(block: Block, mask: GroundMask) -> Tables:
    """Outline each lot's open ground, and tell what took the rest.

    Returns
    -------
    dict
        ``open_ground`` (``lot_id``, ``area_m2``, geometry; lots without any have no row) and ``taken`` (``lot_id``,
        ``constraint``, ``area_m2``, ``alone_m2``).
    """
    cell_m2 = -mask.transform.a * mask.transform.e
    lots = block.lots["lot_id"].to_numpy()
    cells = np.where(mask.open_cells(), mask.lot + 1, 0).astype(np.int32)
    polygons, label = outlines(cells, mask.transform)
    order = np.argsort(label, kind="stable")
    owners, first = np.unique(label[order], return_inverse=True)
    together = shapely.multipolygons(polygons[order], indices=first) if len(owners) else polygons
    areas = np.bincount(cells.ravel(), minlength=len(lots) + 1)[owners] * cell_m2
    ground = gpd.GeoDataFrame(
        {"lot_id": lots[owners - 1], "area_m2": areas}, geometry=np.asarray(together), crs=block.lots.crs
    )
    return {"open_ground": ground, "taken": _taken(mask, lots, cell_m2)}


def _taken(mask: GroundMask, lots: NDArray[Any], cell_m2: float) -> pd.DataFrame:
    """Ground that each constraint takes of each lot, and what it alone takes."""
    all_cells = np.zeros((len(lots), len(mask.constraints)), dtype=np.int64)
    alone = np.zeros_like(all_cells)
    tally_bits(mask.lot, mask.bits, int(mask.closed_bits()), all_cells, alone)
    lot, bit = np.nonzero(all_cells)
    names = np.array([constraint.name for constraint in mask.constraints], dtype=object)
    return pd.DataFrame(
        {
            "lot_id": lots[lot],
            "constraint": names[bit],
            "area_m2": all_cells[lot, bit] * cell_m2,
            "alone_m2": alone[lot, bit] * cell_m2,
        }
    )


def _things(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Rows of every constraint, with its number."""
    tables = []
    for bit, setback in enumerate(SETBACKS):
        rows = setback.rows(block, context)
        tables.append(rows.assign(bit=np.int32(bit)))
    tables.append(_overlaps(block, context).assign(bit=np.int32(len(SETBACKS))))
    filled = [table for table in tables if len(table)] or tables[:1]
    return gpd.GeoDataFrame(pd.concat(filled, ignore_index=True), geometry="geometry", crs=context.crs)


def _overlaps(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Ground that another lot claims too, for each lot of the block; lots stacked on one place are one."""
    around = block.layers["lots"]
    shapes, mine = around.geometry.to_numpy(), block.lots.geometry.to_numpy()
    if not len(mine):
        return setback_rows(context, [], 0.0)
    low, high = (_claims(block, shapes, step) for step in (1, -1))
    twice = (low != high) & (low > 0)
    if not twice.any():
        return setback_rows(context, [], 0.0)
    claims = np.unique(np.concatenate([low[twice], high[twice]])) - 1
    tree = shapely.STRtree(shapes)
    lot, other = tree.query(mine, predicate="intersects")
    contested = np.isin(other, claims)
    same = _places(block.lots)[lot] == _places(around)[other]
    lot, other = lot[contested & ~same], other[contested & ~same]
    order = np.lexsort((other, lot))
    shared = shapely.intersection(mine[lot[order]], shapes[other[order]])
    return setback_rows(context, shared[shapely.area(shared) > 0], 0.0, lot=lot[order][shapely.area(shared) > 0])


def _claims(block: Block, shapes: NDArray[Any], step: int) -> NDArray[np.uint32]:
    """Number of the first lot, in order or against it, that claims each elevation cell."""
    out = np.zeros(block.shape, dtype=np.uint32)
    burn(shapes[::step], (np.arange(len(shapes)) + 1)[::step], block.transform, out, first_wins=True)
    return out


def _places(lots: gpd.GeoDataFrame) -> NDArray[Any]:
    places: NDArray[Any] = lots["place"].where(lots["place"].notna(), lots["lot_id"]).astype("object").to_numpy()
    return places


def _by_lot(block: Block, rows: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """One row for each lot and thing that can stand in its way."""
    shapes = block.lots.geometry.to_numpy()
    shared = np.flatnonzero(rows["lot"].to_numpy() < 0)
    own = np.flatnonzero(rows["lot"].to_numpy() >= 0)
    reach = rows["clearance_m"].to_numpy()[shared]
    tree = shapely.STRtree(shapes)
    thing, lot = tree.query(rows.geometry.to_numpy()[shared], predicate="dwithin", distance=reach)
    picked = np.concatenate([own, shared[thing]])
    lots = np.concatenate([rows["lot"].to_numpy()[own], lot]).astype(np.int32)
    order = np.lexsort((picked, lots))
    picked, lots = picked[order], lots[order]
    bit = rows["bit"].to_numpy()[picked]
    table = constraints()
    return gpd.GeoDataFrame(
        {
            "lot": lots,
            "constraint": np.array([c.name for c in table], dtype=object)[bit],
            "effect": np.array([c.effect for c in table], dtype=object)[bit],
            "clearance_m": rows["clearance_m"].to_numpy()[picked],
            "detail": rows["detail"].to_numpy(dtype=object)[picked],
            "bit": bit,
        },
        geometry=rows.geometry.to_numpy()[picked],
        crs=rows.crs,
    )


def _mask(
    block: Block,
    rows: gpd.GeoDataFrame,
    transform: Affine,
    shape: tuple[int, int],
    obstacles: gpd.GeoDataFrame,
    only: int | None = None,
) -> GroundMask:
    """Burn lots, then things."""
    number = np.zeros(shape, dtype=np.uint32)
    around = block.layers["lots"]
    position = pd.Series(np.arange(len(block.lots)), index=block.lots["lot_id"])
    mine = around["lot_id"].map(position).fillna(-1).to_numpy(dtype=np.int64)
    if only is not None:
        mine = np.where(mine == only, mine, -1)
    first_of_place = _places(around) == around["lot_id"].to_numpy(dtype=object)
    shapes = around.geometry.to_numpy()[first_of_place]
    burn(shapes, np.arange(1, len(shapes) + 1), transform, number, first_wins=True)
    lot = np.concatenate([[-1], mine[first_of_place]]).astype(np.int32)[number]
    bits = np.zeros(shape, dtype=np.uint32)
    margin = MARGIN_CELLS * max(transform.a, -transform.e)
    burn(
        rows.geometry.to_numpy(),
        np.uint32(1) << rows["bit"].to_numpy().astype(np.uint32),
        transform,
        bits,
        reach_m=rows["clearance_m"].to_numpy() + margin,
        own=rows["lot"].to_numpy(),
        lot=lot,
    )
    return GroundMask(transform, lot, bits, constraints(), obstacles)
