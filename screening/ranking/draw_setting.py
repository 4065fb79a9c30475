"""What the draws need of the candidates and their lots, gathered once: what no draw moves, and what each may move."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from screening.fields import rows_of
from screening.lot_rules import OwnRules, rule_sets
from screening.ranking.criteria import (
    side_value,
)
from screening.ranking.ground_draws import GroundFacts, even_slope, ground_facts
from screening.ranking.second_garden import marked_rows
from screening.ranking.soil_draws import SoilKinds, UnitDraws, soil_kinds, unit_draws
from screening.rules import Rules
from screening.siting.choose import WATER_STEP, reasons_of, severity_of
from screening.siting.spot_limits import LOOK_CLOSER, NOTE, RULES_OUT, TEST_SOIL, flag, number
from screening.soils.conductivity import least_infiltration_mm_h

__all__ = ["DRAWN", "FIELD", "NEVER", "SMALL", "Setting", "setting", "steps"]

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
    ``spot``, ``second``: row of each lot's spot and of its second garden, -1 where there is none;
    ``run_on_m3``: what lawn sheds into each, None where the rules do not ask;
    ``slope_limit_pct``, ``least_depth_mm``, ``least_rate_mm_h``: limits that hold there by its lot's rules.
    """

    lots: Integers
    lot_ids: list[str]
    first: Integers
    ground: GroundFacts
    soil: SoilKinds
    units: UnitDraws
    unit: Integers
    spot: Integers
    second: Integers
    order: Integers
    fixed_out: NDArray[np.bool_]
    size_open: NDArray[np.bool_]
    as_good: NDArray[np.bool_]
    numbers: Mapping[str, Floats]
    side: Integers
    runoff_m3: Floats
    run_on_m3: Floats | None
    slope_limit_pct: Floats
    least_depth_mm: Floats
    least_rate_mm_h: Floats


def setting(tables: Mapping[str, Any], rules: Rules, own_rules: OwnRules) -> Setting:
    """Gather what the draws need from the tables."""
    lots = tables["lots"]
    table = tables["candidates"]
    lot = rows_of(lots["lot_id"], table["lot_id"])
    order = np.lexsort((table["candidate"].to_numpy(dtype=np.int64), lot))
    if (np.diff(order) != 1).any():
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
        spot=marked_rows(flag(table, "chosen"), first),
        second=marked_rows(flag(table, "second"), first),
        order=_fixed_order(table, severity, heaviest, place),
        fixed_out=(severity >= RULES_OUT) | _ruled_out(tables["reasons"], lots)[lot],
        size_open=size_open,
        as_good=_as_good(flag(table, "chosen"), severity, first, lot),
        numbers={name: number(table, name) for name in NUMBERS},
        side=side_value(table["side"]),
        runoff_m3=number(lots, "storm_runoff_m3")[lot],
        run_on_m3=number(table, "run_on_m3") if rules.run_on else None,
        **_limits(table["lot_id"], rules, own_rules),
    )


def _units(table: Any) -> tuple[NDArray[np.int64], list[str]]:
    """Number of the map unit at each candidate, -1 off the map, and the units' names in their order."""
    if "soil_name" not in table.columns:
        return np.full(len(table), -1, dtype=np.int64), []
    known = sorted(str(name) for name in table["soil_name"].dropna().unique() if name)
    return rows_of(known, table["soil_name"]), known


def _limits(lot_ids: Any, rules: Rules, own_rules: OwnRules) -> dict[str, Floats]:
    """Limits that the draws settle, as they hold at each candidate."""
    limits = {name: np.empty(len(lot_ids)) for name in ("slope_limit_pct", "least_depth_mm", "least_rate_mm_h")}
    for rows, mine in rule_sets(lot_ids, rules, own_rules):
        limits["slope_limit_pct"][rows] = mine.slope_limit_pct
        limits["least_depth_mm"][rows] = mine.capture_depth_least_mm
        limits["least_rate_mm_h"][rows] = least_infiltration_mm_h(mine)
    return limits


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
        "water": 63 - np.clip(steps(number(table, "kept_of_lot_share"), WATER_STEP), 0, 63),
        "aspect": np.where((aspect >= 1.5 - SMALL) & (aspect <= 2.0 + SMALL), 0, 1),
        "run": np.clip(steps(number(table, "run_m"), 1.0), 0, 1023),
    }
    order = place.astype(np.int64)
    for name, part in parts.items():
        order = order + (part.astype(np.int64) << FIELD[name])
    return order


def steps(values: Floats, step: float) -> Integers:
    """Whole steps in each value; missing counts as none."""
    missing = np.isnan(values)
    share = (np.where(missing, 0.0, values) if missing.any() else values) / step
    share += SMALL
    return np.asarray(np.floor(share, out=share).astype(np.int64))
