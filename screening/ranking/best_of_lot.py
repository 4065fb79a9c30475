"""One draw after another: which candidates are feasible, which is the best of its lot, and what it scores."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.fields import round_half_up
from screening.ranking.criteria import (
    lead_value,
    room_value,
    slope_value,
    soil_value,
    water_value,
)
from screening.ranking.draw_setting import FIELD, NEVER, SMALL, Setting, steps
from screening.ranking.error_field import ErrorField
from screening.ranking.ground_draws import each_least
from screening.ranking.lot_draws import LotDraws
from screening.ranking.second_garden import drawn_captured_m3, second_kept_m3
from screening.rules import Rules
from screening.siting.choose import FALL_STEP_M, FALL_STEPS_MOST, SLOPE_STEP_PCT
from screening.units import UM_PER_S_MM_PER_H

__all__ = ["best_of_lots"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


def best_of_lots(
    world: Setting, part: slice, field: ErrorField, own: LotDraws, weights: Integers, rules: Rules
) -> tuple[NDArray[np.bool_], Integers, Integers, Floats]:
    """Draw some lots.

    Parameters
    ----------
    world
        The candidates.
    part
        Which of ``world.lots``.
    field
        Draws of the elevation's error.
    own
        Draws of each of these lots.
    weights
        Draws of the weights, shape (draws, criteria).
    rules
        Limits and errors.

    Returns
    -------
    feasible, score, kept
        Of each lot and draw; water kept in hundredths of a cubic metre.
    ground
        Chance that the ground serves at the spot or at a place as good, soil left out; NaN without a spot.
    """
    ends = np.append(world.first, len(world.order))
    rows = slice(int(ends[part.start]), int(ends[part.stop]))
    first = world.first[part] - rows.start
    owner = np.repeat(np.arange(len(first)), np.diff(np.append(first, rows.stop - rows.start)))
    margin, slope = world.ground.draws(field, rows)
    slope = round_half_up(slope, 0.1)
    roof = np.maximum(1.0 + rules.roof_error_pct / 100.0 * own.roof, 0.5)
    rate, fast, soil_of = _soils(world, rows, first, owner, own)
    depth = _depth_held_mm(world, rows, roof[owner])
    fits = (depth >= world.least_depth_mm[rows, None] - SMALL) | world.size_open[rows, None]
    fits &= ~world.fixed_out[rows, None]
    limit = world.slope_limit_pct[rows]
    serves = (margin >= -1e-9) & (slope <= limit[:, None]) & fits
    gain = rules.search_gain * own.elsewhere
    feasible = (margin >= (-rules.elevation_error_m * gain - 1e-9)[owner]) & fits & fast[soil_of]
    feasible &= slope <= (limit[first, None] + rules.slope_error_pct * gain)[owner]
    key = FALL_STEPS_MOST - np.clip(steps(margin, FALL_STEP_M), -1000, FALL_STEPS_MOST)
    key <<= FIELD["fall"]
    key += world.order[rows, None]
    key += np.clip(steps(slope, SLOPE_STEP_PCT), 0, 63) << FIELD["slope"]
    key[~feasible] = NEVER
    least = each_least(key, first)
    best = np.where(least < NEVER, first[:, None] + (least & 15), first[:, None])
    draw = np.arange(best.shape[1])
    drawn = {"margin": margin[best, draw], "slope": slope[best, draw], "rate": rate[soil_of[best], draw], "roof": roof}
    more = _second(world, part, rows, best, feasible, depth, roof, rules)
    score, kept = _scores(world, best + rows.start, drawn, more, weights, rules)
    as_good = world.as_good[rows, None]
    some = (~each_least(~(serves & as_good), first)).mean(axis=1)
    spotted = np.logical_or.reduceat(as_good[:, 0], first)
    return least < NEVER, score, kept, np.where(spotted, some, np.nan)


def _soils(
    world: Setting, rows: slice, first: Integers, owner: Integers, own: LotDraws
) -> tuple[Floats, NDArray[np.bool_], Integers]:
    """Infiltration [mm/h], and whether it is enough, at each soil of each lot; and which of them a candidate stands on.

    How fast the soil is, is shared along map units and with neighbours, but where tests tell.
    """
    at = first + rows.start
    shared = world.units.rates(world.unit[at], world.ground.place[at])
    new = world.soil.differs(rows)
    new[first] = True
    lot, soil = owner[new], np.flatnonzero(new) + rows.start
    normal = np.where(world.soil.alone[soil, None], own.soil_rate[lot], shared[lot])
    rate = world.soil.infiltration_mm_h(soil, own.soil_kind[lot], normal)
    return rate, rate >= world.least_rate_mm_h[soil, None] - 1e-9, np.cumsum(new) - 1


def _depth_held_mm(world: Setting, rows: Any, roof: Floats) -> Floats:
    """Rain held when the roof is larger or smaller than digitized; the garden grows as far as it has room."""
    size, room = world.numbers["ponding_area_m2"][rows], world.numbers["room_m2"][rows]
    full = world.numbers["capture_depth_mm"][rows]
    grown = room / size
    if roof.ndim > full.ndim:
        full, grown = full[:, None], grown[:, None]
    held: Floats = grown / roof
    np.minimum(1.0, held, out=held)
    held *= full
    return held


def _second(
    world: Setting, part: slice, rows: slice, best: Integers, feasible: Any, depth: Floats, roof: Floats, rules: Rules
) -> Floats:
    """Water that second gardens keep beside the spots [m3]."""
    second = world.second[part]
    if not (second >= 0).any():
        return np.zeros(best.shape)
    at = np.maximum(second - rows.start, 0)
    stands = (best == (world.spot[part] - rows.start)[:, None]) & feasible[at] & (second >= 0)[:, None]
    return second_kept_m3(world.numbers, second, stands, depth[at], roof, rules, world.run_on_m3)


def _scores(
    world: Setting, best: Integers, drawn: Mapping[str, Floats], more: Floats, weights: Integers, rules: Rules
) -> tuple[Integers, Integers]:
    """Score and water kept of the best of each lot in each draw, rounded as the lots table is."""
    n = {name: values[best] for name, values in world.numbers.items()}
    held = _depth_held_mm(world, best, drawn["roof"])
    lawn = None if world.run_on_m3 is None else world.run_on_m3[best]
    captured = drawn_captured_m3(n["draining_area_m2"], held, drawn["roof"], lawn, rules)
    shed = world.runoff_m3[best] * drawn["roof"]
    captured = np.fmin(captured, shed) if lawn is None else np.where(np.isnan(lawn), 0.0, np.fmin(captured, shed))
    kept = round_half_up(np.nan_to_num(captured * n["kept_share"]) + more, 0.01)
    level = np.maximum(np.minimum(n["ground_m"], n["lip_high_m"]) - n["lip_low_m"], 0.0)
    change = _spare(drawn["margin"], level) - _spare(n["fall_margin_m"], level)
    spare = round_half_up(n["fall_m"] + change, 0.01) - round_half_up(n["fall_needed_m"], 0.01)
    ksat_um_s = round_half_up(drawn["rate"] / UM_PER_S_MM_PER_H, 0.01)
    values = (
        water_value(kept, rules),
        soil_value(ksat_um_s * UM_PER_S_MM_PER_H, rules),
        lead_value(spare, round_half_up(n["run_m"], 0.1), rules),
        slope_value(drawn["slope"], rules),
        room_value(n["room_m2"] / n["ponding_area_m2"], rules),
        world.side[best],
    )
    total = np.zeros(best.shape, dtype=np.int64)
    for number_, value in enumerate(values):
        total += value * weights[:, number_]
    score = total // np.maximum(weights.sum(axis=1), 1)
    return score, np.floor(kept * 100.0 + 0.5).astype(np.int64)


def _spare(margin: Floats, level: Floats) -> Floats:
    """Fall beyond the need at the lip that is built: at the ground where it can be, lower where it must."""
    return np.asarray(margin - np.clip(margin, 0.0, level))
