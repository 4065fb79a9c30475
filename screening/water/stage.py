"""Water stage of one block: shed, captured and kept out of the drain by each lot's garden."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.area import AreaContext, Block, Tables
from screening.fields import round_half_up
from screening.units import UM_PER_S_MM_PER_H
from screening.water.storm import STORM_COLUMNS, STORM_STEP_M3, garden_storm, shed_m3
from screening.water.year import YEAR_COLUMNS, mean_year

__all__ = ["lot_water"]


def lot_water(block: Block, context: AreaContext) -> Tables:
    """Water of each lot of a block: in the storm, and in a mean year where there is a rain record.

    Parameters
    ----------
    block
        The block with ``roof_pieces``, ``lot_ground`` and ``candidates`` among its tables.
    context
        The rules and the rain record.

    Returns
    -------
    dict
        ``lot_water``: ``lot_id`` and the columns of storm and year of the lots table, one row a lot in the block's
        order; the year's are missing without a record.
    """
    ids = block.lots["lot_id"]
    candidates = block.tables["candidates"]
    spots = candidates[candidates["chosen"].fillna(False).astype(bool)].drop_duplicates("lot_id")
    spots = spots.set_index("lot_id").reindex(ids)
    impervious = _roof_area_m2(block) + np.nan_to_num(_paved_area_m2(block))
    draining, reach = _numbers(spots["draining_area_m2"]), _numbers(spots["kept_share"])
    rules = context.rules
    runoff = round_half_up(shed_m3(impervious, rules.storm_depth_mm, rules.runoff_coefficient), STORM_STEP_M3)
    rows = garden_storm(runoff, draining, _numbers(spots["capture_depth_mm"]), reach, rules)
    if context.rain_years is None:
        rows[list(YEAR_COLUMNS)] = np.nan
    else:
        infiltration_mm_h = _numbers(spots["ksat_um_s"]) * UM_PER_S_MM_PER_H
        ponding = _numbers(spots["ponding_area_m2"])
        year = mean_year(context.rain_years, impervious, draining, ponding, infiltration_mm_h, reach, context.rules)
        rows[list(YEAR_COLUMNS)] = year
    rows.insert(0, "lot_id", ids.to_numpy())
    return {"lot_water": rows[["lot_id", *STORM_COLUMNS, *YEAR_COLUMNS]]}


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
