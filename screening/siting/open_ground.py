"""Open ground: the mask of what takes each lot's ground, the polygons that are left, and what took the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
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
from screening.siting.lot_cells import lot_numbers, own_positions
from screening.siting.outlines import outlines
from screening.siting.setback_rows import no_rows, setback_rows
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
    things = _things(block, context)
    transform = block.transform @ Affine.scale(1.0 / _FOLD)
    shape = (block.shape[0] * _FOLD, block.shape[1] * _FOLD)
    return _mask(block, things, transform, shape, _by_lot(block, things))


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
    columns_of = (mine[name].to_numpy() for name in ("lot", "clearance_m", "detail", "bit", "geometry"))
    return _mask(block, _Things(*columns_of), transform, (rows * fold, columns * fold), mine, only=lot)


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
    lots = block.lots["lot_id"].to_numpy(dtype=object)
    taken = np.zeros((len(lots), len(mask.constraints)), dtype=np.int64)
    alone, free = np.zeros_like(taken), np.zeros(len(lots), dtype=np.int64)
    cells = np.empty(mask.lot.shape, dtype=np.int32)
    tally_bits(mask.lot, mask.bits, int(mask.closed_bits()), taken, alone, free, cells)
    polygons, label = outlines(cells, mask.transform)
    order = np.argsort(label, kind="stable")
    owners, first = np.unique(label[order], return_inverse=True)
    together = shapely.multipolygons(polygons[order], indices=first) if len(owners) else polygons
    ground = gpd.GeoDataFrame(
        {"lot_id": lots[owners - 1], "area_m2": free[owners - 1] * cell_m2},
        geometry=np.asarray(together),
        crs=block.lots.crs,
    )
    lot, bit = np.nonzero(taken)
    names = np.array([constraint.name for constraint in mask.constraints], dtype=object)
    rows = {"lot_id": lots[lot], "constraint": names[bit]}
    rows |= {"area_m2": taken[lot, bit] * cell_m2, "alone_m2": alone[lot, bit] * cell_m2}
    return {"open_ground": ground, "taken": pd.DataFrame(rows)}


@dataclass(frozen=True, eq=False)
class _Things:
    """Rows of every constraint, as arrays; ``bit`` tells which."""

    lot: NDArray[np.int32]
    clearance_m: NDArray[np.float64]
    detail: NDArray[Any]
    bit: NDArray[np.int64]
    geometry: NDArray[Any]

    @classmethod
    def of(cls, tables: Sequence[gpd.GeoDataFrame]) -> _Things:
        """Join the rows of the constraints, given in order of their bits."""
        lot, clearance, detail, geometry = (
            np.concatenate([table[name].to_numpy() for table in tables])
            for name in ("lot", "clearance_m", "detail", "geometry")
        )
        bit = np.repeat(np.arange(len(tables)), [len(table) for table in tables])
        return cls(lot, clearance, detail, bit, geometry)


def _things(block: Block, context: AreaContext) -> _Things:
    """Everything that takes ground on the block."""
    return _Things.of([setback.rows(block, context) for setback in SETBACKS] + [_overlaps(block, context)])


def _overlaps(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Ground that another lot claims too, for each lot of the block."""
    around = block.layers["lots"]
    shapes, mine = around.geometry.to_numpy(), block.lots.geometry.to_numpy()
    if not len(mine):
        return no_rows(context)
    low, high = lot_numbers(block), _last_claims(block)
    twice = low != high
    if not twice.any():
        return no_rows(context)
    claims = np.unique(np.concatenate([low[twice], high[twice]])) - 1
    tree = shapely.STRtree(shapes)
    lot, other = tree.query(mine, predicate="intersects")
    contested = np.isin(other, claims)
    same = block.lots["lot_id"].to_numpy(dtype=object)[lot] == around["lot_id"].to_numpy(dtype=object)[other]
    lot, other = lot[contested & ~same], other[contested & ~same]
    order = np.lexsort((other, lot))
    shared = shapely.intersection(mine[lot[order]], shapes[other[order]])
    return setback_rows(context, shared[shapely.area(shared) > 0], 0.0, lot=lot[order][shapely.area(shared) > 0])


def _last_claims(block: Block) -> NDArray[np.int32]:
    """Number of the last lot that claims each elevation cell."""
    shapes = block.layers["lots"].geometry.to_numpy()
    out = np.zeros(block.shape, dtype=np.uint32)
    burn(shapes[::-1], np.arange(len(shapes), 0, -1), block.transform, out, first_wins=True)
    return out.view(np.int32)


def _by_lot(block: Block, things: _Things) -> gpd.GeoDataFrame:
    """One row for each lot and thing that can stand in its way."""
    own, shared, wide = np.flatnonzero(things.lot >= 0), things.lot < 0, things.clearance_m > 0
    tree = shapely.STRtree(block.lots.geometry.to_numpy())
    # whether two shapes meet is told sooner than how far apart they are, and most things take no more than their place
    placed, around = np.flatnonzero(shared & ~wide), np.flatnonzero(shared & wide)
    met, met_lot = tree.query(things.geometry[placed], predicate="intersects")
    near, near_lot = tree.query(things.geometry[around], predicate="dwithin", distance=things.clearance_m[around])
    picked = np.concatenate([own, placed[met], around[near]])
    lots = np.concatenate([things.lot[own], met_lot, near_lot]).astype(np.int32)
    order = np.lexsort((picked, lots))
    picked, lots = picked[order], lots[order]
    bit = things.bit[picked]
    table = constraints()
    return gpd.GeoDataFrame(
        {
            "lot": lots,
            "constraint": np.array([c.name for c in table], dtype=object)[bit],
            "effect": np.array([c.effect for c in table], dtype=object)[bit],
            "clearance_m": things.clearance_m[picked],
            "detail": things.detail[picked],
            "bit": bit,
            "thing": picked,
        },
        geometry=things.geometry[picked],
        crs=block.lots.crs,
    )


def _mask(
    block: Block,
    things: _Things,
    transform: Affine,
    shape: tuple[int, int],
    obstacles: gpd.GeoDataFrame,
    only: int | None = None,
) -> GroundMask:
    """Burn lots, then things."""
    lot = _lot_cells(block, transform, shape, only)
    bits = np.zeros(shape, dtype=np.uint32)
    burn(
        things.geometry,
        np.uint32(1) << things.bit.astype(np.uint32),
        transform,
        bits,
        reach_m=things.clearance_m + MARGIN_CELLS * max(transform.a, -transform.e),
        own=things.lot,
        lot=lot,
    )
    return GroundMask(transform, lot, bits, constraints(), obstacles)


def _lot_cells(block: Block, transform: Affine, shape: tuple[int, int], only: int | None) -> NDArray[np.int32]:
    """Position of the lot that each cell belongs to, -1 where it is none of the block's.

    Every lot around is burnt, the block's or not, so that ground two lots claim goes to the same one in any block.
    """
    around = block.layers["lots"]
    position = own_positions(block).astype(np.int64)
    if only is not None:
        position = np.where(position == only, position, -1)
    number = np.where(position >= 0, position + 1, 1 << 31)
    cells = np.zeros(shape, dtype=np.uint32)
    burn(around.geometry.to_numpy(), number, transform, cells, first_wins=True)
    lot = cells.view(np.int32)
    np.maximum(lot, 0, out=lot)
    lot -= 1
    return lot
