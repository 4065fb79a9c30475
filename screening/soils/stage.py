"""Soils stage of one block: groups by lot, and what the map says at each candidate."""

from __future__ import annotations

from typing import Any, Protocol

import numpy as np
import pandas as pd
import shapely
from affine import Affine
from numpy.typing import NDArray

from screening.area import AreaContext, Block, Tables
from screening.fields import TABLES
from screening.soils.at_points import soil_at_points
from screening.soils.by_lot import soil_lots, unit_cells
from screening.sources import rasterized

__all__ = ["LotCells", "assess", "candidate_soils"]

_CANDIDATE_COLUMNS = tuple(field.name for field in TABLES["candidates"] if field.stage == "soils")


class LotCells(Protocol):
    """What this stage needs of the ground mask: which lot each mask cell belongs to, and where digging is allowed."""

    @property
    def transform(self) -> Affine:
        """Transform of the mask cells."""

    @property
    def lot(self) -> NDArray[np.int32]:
        """Position of the lot in the block, -1 where there is none."""

    def open_cells(self) -> NDArray[Any]:
        """True where digging is allowed."""


def assess(block: Block, context: AreaContext, mask: LotCells) -> Tables:  # noqa: ARG001 - the signature of a stage
    """Groups of each lot of a block.

    Parameters
    ----------
    block, context
        The block and what is known of the area.
    mask
        Lots and open ground on mask cells.

    Returns
    -------
    dict
        ``soil_lots``.
    """
    shape = (mask.lot.shape[0], mask.lot.shape[1])
    unit = unit_cells(block.soils, mask.transform, shape)

    def roofs(closed: NDArray[np.int64]) -> NDArray[np.bool_]:
        return _roof_cells(block, closed, mask.transform, shape)

    units = None if block.soils is None else block.soils.units
    cell_area_m2 = abs(mask.transform.a * mask.transform.e)
    lot_ids = block.lots["lot_id"].astype(str).tolist()
    table = soil_lots(mask.lot, mask.open_cells(), roofs, unit, lot_ids, units, cell_area_m2)
    return {"soil_lots": table}


def _roof_cells(block: Block, lots: NDArray[np.int64], transform: Affine, shape: tuple[int, int]) -> NDArray[np.bool_]:
    """Cells under the roofs that reach over these lots."""
    roofs = block.layers["roofs"].geometry.to_numpy()
    near = shapely.STRtree(roofs).query(block.lots.geometry.to_numpy()[lots], predicate="intersects")[1]
    cells = np.zeros(shape, dtype=np.uint8)
    if len(near):
        rasterized(roofs[np.unique(near)].tolist(), out=cells, transform=transform)
    return cells.astype(np.bool_)


def candidate_soils(block: Block, context: AreaContext) -> Tables:
    """Candidates of a block with the soil at their centre filled in.

    Parameters
    ----------
    block
        The block, its table ``candidates`` among them.
    context
        The rules.

    Returns
    -------
    dict
        ``candidates``, with the columns that ``fields`` gives to soils.
    """
    candidates = block.tables["candidates"]
    x_m = pd.to_numeric(candidates["x_m"]).to_numpy(dtype=np.float64)
    y_m = pd.to_numeric(candidates["y_m"]).to_numpy(dtype=np.float64)
    found = soil_at_points(block.soils, x_m, y_m, context.rules)
    columns = {name: found[name].to_numpy() for name in _CANDIDATE_COLUMNS}
    return {"candidates": candidates.assign(**columns)}
