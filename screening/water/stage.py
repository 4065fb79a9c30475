"""Water stage of one block: shed, captured and kept out of the drain by each lot's garden."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.area import AreaContext, Block, Tables
from screening.fields import round_half_up
from screening.rules import Rules
from screening.units import UM_PER_S_MM_PER_H
from screening.water.run_on import lawn_curve_number, storm_run_on
from screening.water.storm import STORM_COLUMNS, STORM_STEP_M3, garden_storm, of_both, shed_m3
from screening.water.year import YEAR_COLUMNS, mean_year

__all__ = ["lot_water"]


def lot_water(block: Block, context: AreaContext) -> Tables:
    """Water of each lot of a block: in the storm, and in a mean year where there is a rain record.

    Where the rules allow two gardens, both count. Run-on counts in the storm, where the rules ask for it; the mean year
    is roof water alone.

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
        order; the year's are missing without a record. ``candidates`` with what lawn sheds into each.
    """
    ids = block.lots["lot_id"]
    candidates = _with_run_on(block.tables["candidates"], context.rules)
    impervious = _roof_area_m2(block) + np.nan_to_num(_paved_area_m2(block))
    rows = _garden_water(_gardens(candidates, "chosen", ids), impervious, context)
    second = _gardens(candidates, "second", ids)
    if second["draining_area_m2"].notna().any():
        rows = of_both(rows, _garden_water(second, impervious, context))
    rows.insert(0, "lot_id", ids.to_numpy())
    return {"lot_water": rows[["lot_id", *STORM_COLUMNS, *YEAR_COLUMNS]], "candidates": candidates}


def _with_run_on(candidates: Any, rules: Rules) -> Any:
    """Candidates with what lawn sheds into each, as they were where it is not asked for."""
    if not rules.run_on:
        return candidates
    number = lawn_curve_number(candidates["hsg"], rules)
    volume = storm_run_on(_numbers(candidates["run_on_m2"]), number, rules)
    return candidates.assign(run_on_curve_number=number, run_on_m3=volume)


def _gardens(candidates: Any, which: str, ids: Any) -> Any:
    """The candidate of each lot that bears a mark, missing where none does."""
    marked = candidates[which].fillna(False).astype(bool) if which in candidates else np.zeros(len(candidates), bool)
    return candidates[marked].drop_duplicates("lot_id").set_index("lot_id").reindex(ids)


def _garden_water(gardens: Any, impervious: NDArray[np.float64], context: AreaContext) -> pd.DataFrame:
    """Storm and year of one garden a lot."""
    draining, reach = _numbers(gardens["draining_area_m2"]), _numbers(gardens["kept_share"])
    rules = context.rules
    runoff = round_half_up(shed_m3(impervious, rules.storm_depth_mm, rules.runoff_coefficient), STORM_STEP_M3)
    run_on = _numbers(gardens["run_on_m3"]) if rules.run_on else None
    rows = garden_storm(runoff, draining, _numbers(gardens["capture_depth_mm"]), reach, rules, run_on_m3=run_on)
    if context.rain_years is None:
        rows[list(YEAR_COLUMNS)] = np.nan
        return rows
    infiltration_mm_h = _numbers(gardens["ksat_um_s"]) * UM_PER_S_MM_PER_H
    ponding = _numbers(gardens["ponding_area_m2"])
    year = mean_year(context.rain_years, impervious, draining, ponding, infiltration_mm_h, reach, rules)
    rows[list(YEAR_COLUMNS)] = year
    return rows


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
