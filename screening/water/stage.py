"""Water stage of one block: shed, captured and kept out of the drain by each lot's garden."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.area import AreaContext, Block, Tables
from screening.water.storm import STORM_COLUMNS, storm

__all__ = ["lot_water"]


def lot_water(block: Block, context: AreaContext) -> Tables:
    """Water of each lot of a block, in the storm.

    Parameters
    ----------
    block
        The block with ``roof_pieces``, ``lot_ground`` and ``candidates`` among its tables.
    context
        The rules.

    Returns
    -------
    dict
        ``lot_water``: ``lot_id`` and the storm's columns of the lots table, one row a lot in the block's order.
    """
    ids = block.lots["lot_id"]
    candidates = block.tables["candidates"]
    spots = candidates[candidates["chosen"].fillna(False).astype(bool)].drop_duplicates("lot_id")
    spots = spots.set_index("lot_id").reindex(ids)
    impervious = _roof_area_m2(block) + np.nan_to_num(_paved_area_m2(block))
    rows = storm(
        impervious,
        _numbers(spots["draining_area_m2"]),
        _numbers(spots["capture_depth_mm"]),
        _numbers(spots["kept_share"]),
        context.rules,
    )
    rows.insert(0, "lot_id", ids.to_numpy())
    return {"lot_water": rows[["lot_id", *STORM_COLUMNS]]}


def _numbers(column: Any) -> NDArray[np.float64]:
    numbers: NDArray[np.float64] = pd.to_numeric(column).astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    return numbers


def _roof_area_m2(block: Block) -> NDArray[np.float64]:
    areas = block.tables["roof_pieces"].groupby("lot_id")["area_m2"].sum()
    return np.nan_to_num(_numbers(areas.reindex(block.lots["lot_id"])))


def _paved_area_m2(block: Block) -> NDArray[np.float64]:
    """Paving of each lot, NaN where no such layer was given [m2]."""
    ground = block.tables["lot_ground"].set_index("lot_id").reindex(block.lots["lot_id"])
    return _numbers(ground["paved_area_m2"])
