"""Field results at the candidates: soil tests and levels beat the maps, consents lift what they settle.

A soil test stands for the candidates within ``rules.soil_test_reach_m`` of it, the slowest where there are several;
beyond, it moves the estimate on the same map unit (``soils.field_test.by_tests``). A result whose place was not written
down was taken at the spot that the maps alone choose, the one on the household's first sheet. Ground water
seen in a hole counts for its whole lot and only tightens what the map says: a dry day does not tell the seasonal high.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.area import AreaContext, Block, FieldFacts, Tables
from screening.rules import Rules
from screening.siting.choose import first_of_lots, reasons_of, severity_of
from screening.siting.spot_limits import number
from screening.soils.at_points import units_at_points
from screening.soils.conductivity import least_infiltration_mm_h
from screening.soils.field_test import by_tests
from screening.units import UM_PER_S_MM_PER_H

__all__ = ["LEVEL_REACH_M", "NEARBY_SHARE", "with_field_results"]

LEVEL_REACH_M: Final = 3.0
"""A level that was located stands for the nearest candidate of its lot, within this."""

NEARBY_SHARE: Final = 0.25
"""Tests on the same map unit are the source where they explain this share of the variance of log conductivity."""

Floats = NDArray[np.float64]


def with_field_results(block: Block, context: AreaContext) -> Tables:
    """Candidates and leads of a block with what was learnt in the field.

    Parameters
    ----------
    block
        The block, with ``candidates`` (the map's soil filled in) and ``leads``.
    context
        The rules and the field facts.

    Returns
    -------
    dict
        ``candidates`` and ``leads``; as they were when there are no field results.
    """
    candidates, leads = block.tables["candidates"], block.tables["leads"]
    facts, rules = context.field, context.rules
    if facts is None or not len(candidates):
        return {"candidates": candidates, "leads": leads}
    spots = _map_spots(candidates, rules)
    found = candidates.assign(level_taken=False)
    given = found["lot_id"].isin(list(facts.consents)).to_numpy(dtype=bool)
    found["crosses_easement"] = found["crosses_easement"].fillna(False).to_numpy(dtype=bool) & ~given
    found = _moved(found, block, facts, rules)
    found = _tested(found, facts.tests, spots, rules)
    levelled = _levelled(found, facts.levels, spots, rules)
    change = number(levelled, "fall_m") - number(found, "fall_m")
    return {"candidates": levelled, "leads": _led(leads, levelled, change)}


def _map_spots(candidates: Any, rules: Rules) -> dict[str, int]:
    """Row of the candidate that the maps alone choose, by lot."""
    severity, heaviest = severity_of(reasons_of(candidates, rules), len(candidates))
    rows = first_of_lots(candidates, severity, heaviest)
    ids = candidates["lot_id"].to_numpy(dtype=object)
    return {str(ids[row]): int(row) for row in rows}


def _moved(candidates: Any, block: Block, facts: FieldFacts, rules: Rules) -> Any:
    """Conductivity moved by tests on the same map unit."""
    if not len(facts.tests):
        return candidates
    x, y = number(candidates, "x_m"), number(candidates, "y_m")
    mapped = block.soils is not None and len(block.soils.polygons) > 0
    unit = units_at_points(block.soils, x, y) if block.soils is not None and mapped else np.full(len(x), -1)
    places = pd.DataFrame(
        {
            "x_m": x,
            "y_m": y,
            "unit": unit,
            "ksat_um_s": number(candidates, "ksat_um_s"),
            "ksat_spread": number(candidates, "ksat_spread"),
            "ksat_source": candidates["ksat_source"].to_numpy(dtype=object),
        }
    )
    moved = by_tests(places, facts.tests, rules.model_copy(update={"soil_test_reach_m": 0.0}))
    source = moved["ksat_source"].to_numpy(dtype=object)
    with np.errstate(divide="ignore", invalid="ignore"):
        left = (np.log(moved["ksat_spread"].to_numpy(float)) / np.log(places["ksat_spread"].to_numpy(float))) ** 2
    told = 1.0 - left >= NEARBY_SHARE
    return candidates.assign(
        ksat_um_s=moved["ksat_um_s"].to_numpy(),
        ksat_spread=moved["ksat_spread"].to_numpy(),
        ksat_source=np.where(told, "nearby test", source),
    )


def _tested(candidates: Any, tests: pd.DataFrame, spots: dict[str, int], rules: Rules) -> Any:
    """What tests say of the places they stand for, and where a test on the same lot failed."""
    count = len(candidates)
    x, y = number(candidates, "x_m"), number(candidates, "y_m")
    lot = candidates["lot_id"].to_numpy(dtype=object)
    slowest, hours, failed = np.full(count, np.inf), np.full(count, np.nan), np.full(count, np.inf)
    water = number(candidates, "water_table_m")
    least = least_infiltration_mm_h(rules)
    for test in tests.itertuples():
        same = lot == test.lot_id
        at_x, at_y = _place(test, spots, x, y)
        away = np.hypot(x - at_x, y - at_y)
        stands = (away < rules.soil_test_reach_m) & (same | test.located)
        slowest[stands] = np.minimum(slowest[stands], test.test_ksat_um_s)
        hours[stands] = np.fmax(hours[stands], test.slowest_h)
        water[same | stands] = np.fmin(water[same | stands], test.water_m)
        if test.slowest_h > rules.pond_drawdown_h or test.test_ksat_um_s * UM_PER_S_MM_PER_H < least:
            failed[same & ~stands] = np.minimum(failed[same & ~stands], away[same & ~stands])
    tested = np.isfinite(slowest)
    return candidates.assign(
        ksat_um_s=np.where(tested, slowest, number(candidates, "ksat_um_s")),
        ksat_spread=np.where(tested, rules.soil_test_spread, number(candidates, "ksat_spread")),
        ksat_source=np.where(tested, "test", candidates["ksat_source"].to_numpy(dtype=object)),
        failed_test_m=np.where(np.isfinite(failed), failed, np.nan),
        test_h=hours,
        water_table_m=water,
    )


def _place(result: Any, spots: dict[str, int], x: Floats, y: Floats) -> tuple[float, float]:
    """Where a result was taken: as written, else at the spot of its lot; nowhere when that is not in this block."""
    if result.located:
        return float(result.x_m), float(result.y_m)
    row = spots.get(result.lot_id)
    return (np.nan, np.nan) if row is None else (float(x[row]), float(y[row]))


def _levelled(candidates: Any, levels: pd.DataFrame, spots: dict[str, int], rules: Rules) -> Any:
    """Falls as measured: the ground at the spot moves to where the level says it is, the house staying."""
    lot = candidates["lot_id"].to_numpy(dtype=object)
    x, y = number(candidates, "x_m"), number(candidates, "y_m")
    house = number(candidates, "fall_m") + number(candidates, "lip_m")
    ground = number(candidates, "ground_m")
    shift, taken = np.zeros(len(lot)), np.zeros(len(lot), dtype=bool)
    for level in levels.itertuples():
        at_x, at_y = _place(level, spots, x, y)
        away = np.where(lot == level.lot_id, np.hypot(x - at_x, y - at_y), np.inf)
        row = int(np.argmin(np.nan_to_num(away, nan=np.inf))) if len(away) else 0
        if away[row] <= LEVEL_REACH_M:
            shift[row], taken[row] = level.drop_m - (house[row] - ground[row]), True
    low, high = number(candidates, "lip_low_m") - shift, number(candidates, "lip_high_m") - shift
    margin = number(candidates, "fall_margin_m") + shift
    lip = np.where(taken, np.clip(np.minimum(ground - shift, low + margin), low, high), number(candidates, "lip_m"))
    over = (lip - (ground - shift)) - (number(candidates, "lip_m") - ground)
    return candidates.assign(
        fall_m=np.where(taken, house - lip, number(candidates, "fall_m")),
        fall_margin_m=margin,
        fall_error_m=np.where(taken, rules.level_error_m, number(candidates, "fall_error_m")),
        lip_m=lip,
        lip_low_m=low,
        lip_high_m=high,
        ground_m=ground - shift,
        berm_m=np.where(taken, np.maximum(number(candidates, "berm_m") + over, 0.0), number(candidates, "berm_m")),
        cut_m=np.where(taken, np.maximum(number(candidates, "cut_m") - over, 0.0), number(candidates, "cut_m")),
        level_taken=taken,
    )


def _led(leads: Any, candidates: Any, change: Floats) -> Any:
    """Leads with the falls of the candidates that were levelled."""
    if not len(leads) or not np.any(change):
        return leads
    keys = pd.MultiIndex.from_frame(candidates[["lot_id", "candidate"]].astype(object))
    rows = keys.get_indexer(pd.MultiIndex.from_frame(leads[["lot_id", "candidate"]].astype(object)))
    return leads.assign(fall_m=number(leads, "fall_m") + change[rows])
