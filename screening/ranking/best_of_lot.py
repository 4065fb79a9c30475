"""One draw after another: which candidates are feasible, which is the best of its lot, and what it scores."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from screening.fields import round_half_up
from screening.lot_rules import OwnRules, rule_sets
from screening.ranking.criteria import (
    lead_value,
    room_value,
    side_value,
    slope_value,
    soil_value,
    water_value,
)
from screening.ranking.error_field import ErrorField
from screening.ranking.ground_draws import GroundFacts, even_slope, ground_facts
from screening.ranking.lot_draws import LotDraws
from screening.ranking.soil_draws import SoilKinds, UnitDraws, soil_kinds, unit_draws
from screening.rules import Rules
from screening.siting.choose import FALL_STEP_M, FALL_STEPS_MOST, SLOPE_STEP_PCT, WATER_STEP, reasons_of, severity_of
from screening.siting.spot_limits import LOOK_CLOSER, NOTE, RULES_OUT, TEST_SOIL, flag, number, text
from screening.soils.conductivity import least_infiltration_mm_h
from screening.units import UM_PER_S_MM_PER_H

__all__ = ["DRAWN", "Setting", "best_of_lots", "setting"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

DRAWN: Final = ("fall", "slope", "under_minimum", "pond_drawdown", "bed_drawdown")
"""Limits that the draws settle; every other stands as the maps have it."""

NUMBERS: Final = (
    "room_m2",
    "ponding_area_m2",
    "draining_area_m2",
    "capture_depth_mm",
    "kept_share",
    "run_m",
    "fall_m",
    "fall_needed_m",
    "fall_margin_m",
    "ground_m",
    "lip_low_m",
    "lip_high_m",
)
SMALL: Final = 1e-6
NEVER: Final = np.int64(1) << 60
FIELD: Final = {"slope": 4, "run": 10, "fall": 20, "aspect": 30, "water": 31, "reasons": 37, "severity": 41}
"""Where each part of the order of choice stands in its whole number, the lightest lowest."""


@dataclass(frozen=True, eq=False)
class Setting:
    """The candidates that could be feasible, sorted by lot, and what the draws need of them.

    ``lots``: position in the lots table of each lot that has candidates; ``lot_ids``; ``first``: first candidate of
    each; ``order``: the parts of the order of choice that no draw moves; ``fixed_out``: a limit that no draw moves is
    failed; ``size_open``: too small unless the roof share is smaller, which nobody knows; ``as_good``: the lot has a
    spot, and nothing that no draw moves asks more of this candidate than a soil test or than it asks of the spot;
    ``units``, ``unit``: what soils of one map unit have in common, and the number of each candidate's unit;
    ``slope_limit_pct``, ``least_depth_mm``, ``least_rate_mm_h``: limits that hold there by its lot's rules.
    """

    lots: Integers
    lot_ids: list[str]
    first: Integers
    ground: GroundFacts
    soil: SoilKinds
    units: UnitDraws
    unit: NDArray[np.int64]
    order: Integers
    fixed_out: NDArray[np.bool_]
    size_open: NDArray[np.bool_]
    as_good: NDArray[np.bool_]
    numbers: Mapping[str, Floats]
    side: Integers
    runoff_m3: Floats
    slope_limit_pct: Floats
    least_depth_mm: Floats
    least_rate_mm_h: Floats


def setting(tables: Mapping[str, Any], rules: Rules, own_rules: OwnRules) -> Setting:
    """Gather what the draws need from the tables."""
    lots = tables["lots"]
    position = {lot: number for number, lot in enumerate(lots["lot_id"])}
    table = tables["candidates"].sort_values(["lot_id", "candidate"], kind="stable", key=_plain)
    lot = table["lot_id"].map(position).to_numpy(dtype=np.int64)
    order = np.argsort(lot, kind="stable")
    table, lot = table.iloc[order].reset_index(drop=True), lot[order]
    first = np.flatnonzero(np.diff(lot, prepend=-1))
    place = np.arange(len(lot)) - np.repeat(first, np.diff(np.append(first, len(lot))))
    found = reasons_of(table, rules, own_rules)
    weight, drawn = found["weight"].to_numpy(dtype=np.int64), found["code"].isin(DRAWN).to_numpy(dtype=bool)
    look_at_size = (found["code"] == "under_minimum").to_numpy(dtype=bool) & (weight == LOOK_CLOSER)
    size_open = np.zeros(len(table), dtype=bool)
    size_open[found["row"].to_numpy(dtype=np.int64)[look_at_size]] = True
    severity, heaviest = severity_of(found[~drawn | look_at_size], len(table))
    unit, names = _units(table)
    return Setting(
        lots=lot[first],
        lot_ids=[str(name) for name in table["lot_id"].to_numpy(dtype=object)[first]],
        first=first,
        ground=ground_facts(table, tables["leads"], even_slope(lots)[lot], number(lots, "slope_lot_pct")[lot], rules),
        soil=soil_kinds(table, rules),
        units=unit_draws(names, rules),
        unit=unit,
        order=_fixed_order(table, severity, heaviest, place),
        fixed_out=(severity >= RULES_OUT) | _ruled_out(tables["reasons"], lots)[lot],
        size_open=size_open,
        as_good=_as_good(flag(table, "chosen"), severity, first, lot),
        numbers={name: number(table, name) for name in NUMBERS},
        side=side_value(table["side"]),
        runoff_m3=number(lots, "storm_runoff_m3")[lot],
        **_limits(table["lot_id"], rules, own_rules),
    )


def _units(table: Any) -> tuple[NDArray[np.int64], list[str]]:
    """Number of the map unit at each candidate, -1 off the map, and the units' names in their order."""
    names = text(table, "soil_name") if "soil_name" in table.columns else np.full(len(table), "", dtype=object)
    known = sorted({str(name) for name in names if name})
    place = {name: number for number, name in enumerate(known)}
    return np.array([place.get(name, -1) for name in names], dtype=np.int64), known


def _limits(lot_ids: Any, rules: Rules, own_rules: OwnRules) -> dict[str, Floats]:
    """Limits that the draws settle, as they hold at each candidate."""
    limits = {name: np.empty(len(lot_ids)) for name in ("slope_limit_pct", "least_depth_mm", "least_rate_mm_h")}
    for rows, mine in rule_sets(lot_ids, rules, own_rules):
        limits["slope_limit_pct"][rows] = mine.slope_limit_pct
        limits["least_depth_mm"][rows] = mine.capture_depth_least_mm
        limits["least_rate_mm_h"][rows] = least_infiltration_mm_h(mine)
    return limits


def _plain(column: Any) -> Any:
    return column.astype(object)


def _ruled_out(reasons: Any, lots: Any) -> NDArray[np.bool_]:
    """Lots that something rules out which no draw moves."""
    out = reasons[(reasons["severity"] == "rules out") & ~reasons["code"].isin(DRAWN)]
    flags: NDArray[np.bool_] = lots["lot_id"].isin(out["lot_id"]).to_numpy(dtype=bool)
    return flags


def _as_good(chosen: NDArray[np.bool_], severity: Integers, first: Integers, lot: Integers) -> NDArray[np.bool_]:
    """Candidates as good as their lot's spot but for what the draws settle."""
    if not len(first):
        return chosen
    most = np.maximum.reduceat(np.where(chosen, np.maximum(severity, TEST_SOIL), -1), first)
    return np.asarray(severity <= most[np.searchsorted(lot[first], lot)])


def _fixed_order(table: Any, severity: Integers, heaviest: Integers, place: Integers) -> Integers:
    """The order of ``siting.choose`` as one whole number, smaller first, without fall and slope."""
    aspect = number(table, "aspect")
    parts = {
        "severity": np.maximum(severity, NOTE),
        "reasons": np.minimum(np.where(severity >= LOOK_CLOSER, heaviest, 0), 15),
        "water": 63 - np.clip(_steps(number(table, "kept_of_lot_share"), WATER_STEP), 0, 63),
        "aspect": np.where((aspect >= 1.5 - SMALL) & (aspect <= 2.0 + SMALL), 0, 1),
        "run": np.clip(_steps(number(table, "run_m"), 1.0), 0, 1023),
    }
    order = place.astype(np.int64)
    for name, part in parts.items():
        order = order + (part.astype(np.int64) << FIELD[name])
    return order


def _steps(values: Floats, step: float) -> Integers:
    return np.asarray(np.floor(np.nan_to_num(values) / step + SMALL).astype(np.int64))


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
    margin = world.ground.margins(field, rows)
    slope = round_half_up(world.ground.slopes(field, rows), 0.1)
    roof = np.maximum(1.0 + rules.roof_error_pct / 100.0 * own.roof, 0.5)[owner]
    rate = world.soil.infiltration_mm_h(rows, own.soil_kind[owner], _rates(world, rows, first, owner, own))
    depth = _depth_held_mm(world, rows, roof)
    fits = (depth >= world.least_depth_mm[rows, None] - SMALL) | world.size_open[rows, None]
    fits &= ~world.fixed_out[rows, None]
    limit = world.slope_limit_pct[rows, None]
    serves = (margin >= -1e-9) & (slope <= limit) & fits
    gain = rules.search_gain * own.elsewhere[owner]
    found = (margin >= -rules.elevation_error_m * gain - 1e-9) & (slope <= limit + rules.slope_error_pct * gain) & fits
    feasible = found & (rate >= world.least_rate_mm_h[rows, None] - 1e-9)
    comfort = np.clip(_steps(margin, FALL_STEP_M), -1000, FALL_STEPS_MOST)
    key = world.order[rows, None] + ((FALL_STEPS_MOST - comfort) << FIELD["fall"])
    key += np.clip(_steps(slope, SLOPE_STEP_PCT), 0, 63) << FIELD["slope"]
    key[~feasible] = NEVER
    least = np.minimum.reduceat(key, first, axis=0)
    best = np.where(least < NEVER, first[:, None] + (least & 15), first[:, None])
    drawn = {
        "margin": np.take_along_axis(margin, best, axis=0),
        "slope": np.take_along_axis(slope, best, axis=0),
        "rate": np.take_along_axis(rate, best, axis=0),
        "roof": np.take_along_axis(roof, best, axis=0),
    }
    score, kept = _scores(world, best + rows.start, drawn, weights, rules)
    as_good = world.as_good[rows, None]
    some = np.logical_or.reduceat(serves & as_good, first, axis=0).mean(axis=1)
    spotted = np.logical_or.reduceat(as_good[:, 0], first)
    return least < NEVER, score, kept, np.where(spotted, some, np.nan)


def _rates(world: Setting, rows: slice, first: Integers, owner: Integers, own: LotDraws) -> Floats:
    """Normal draws of how fast the soil is: shared along map units and with neighbours, but where tests tell."""
    at = first + rows.start
    shared = world.units.rates(world.unit[at], world.ground.place[at])
    return np.where(world.soil.alone[rows, None], own.soil_rate[owner], shared[owner])


def _depth_held_mm(world: Setting, rows: Any, roof: Floats) -> Floats:
    """Rain held when the roof is larger or smaller than digitized; the garden grows as far as it has room."""
    size, room = world.numbers["ponding_area_m2"][rows], world.numbers["room_m2"][rows]
    full = world.numbers["capture_depth_mm"][rows]
    grown = room / size
    if roof.ndim > full.ndim:
        full, grown = full[:, None], grown[:, None]
    return np.asarray(full * np.minimum(1.0, grown / roof))


def _scores(
    world: Setting, best: Integers, drawn: Mapping[str, Floats], weights: Integers, rules: Rules
) -> tuple[Integers, Integers]:
    """Score and water kept of the best of each lot in each draw, rounded as the lots table is."""
    n = {name: values[best] for name, values in world.numbers.items()}
    depth = np.minimum(rules.storm_depth_mm, _depth_held_mm(world, best, drawn["roof"])) / 1000.0
    captured = rules.runoff_coefficient * depth * n["draining_area_m2"] * drawn["roof"]
    captured = np.fmin(captured, world.runoff_m3[best] * drawn["roof"])
    kept = round_half_up(np.nan_to_num(captured * n["kept_share"]), 0.01)
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
