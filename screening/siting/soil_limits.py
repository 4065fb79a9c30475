"""Soil at each candidate: whether pond and bed empty in time, when a test must say so first, and lawn that runs on."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd

from screening.rules import Rules
from screening.siting.spot_limits import (
    FINE,
    LOOK_CLOSER,
    NOTE,
    RULES_OUT,
    TEST_SOIL,
    Finding,
    Floats,
    number,
    text,
    written,
)
from screening.soils.conductivity import chance_infeasible
from screening.soils.groups import GROUPS, group_number
from screening.units import UM_PER_S_MM_PER_H

__all__ = [
    "SOIL_LIMITS",
    "chance_too_slow",
    "drawdown",
    "failed_test",
    "fast_soil",
    "run_on",
    "run_on_unknown",
    "slow_test",
    "soil_group",
    "soil_line",
    "soil_unknown",
]

WELL_DRAINED: Final = ("A", "B")


def drawdown(table: Any, rules: Rules) -> Finding:
    """Pond or bed that does not empty in time: by a test, or by a map that is as good as sure."""
    ksat_mm_h = number(table, "ksat_um_s") * UM_PER_S_MM_PER_H
    chance = chance_too_slow(table, rules)
    tested = text(table, "ksat_source") == "test"
    with np.errstate(divide="ignore"):
        pond = rules.ponding_depth_mm / ksat_mm_h
        bed = (rules.ponding_depth_mm + rules.void_fraction * rules.bed_depth_mm) / ksat_mm_h
    slow = (pond > rules.pond_drawdown_h) | (bed > rules.bed_drawdown_h)
    out = np.where(tested, slow, chance >= rules.soil_chance_out)
    worst_bed = bed / rules.bed_drawdown_h > pond / rules.pond_drawdown_h
    nearby = text(table, "ksat_source") == "nearby test"
    words = np.full(len(out), "The soil test says so.", dtype=object)
    for by, those in (("soil tests nearby", out & ~tested & nearby), ("the soil map", out & ~tested & ~nearby)):
        words[those] = written(f"By {by}, with a chance of {{:.0f}}%.", 100 * np.nan_to_num(chance[those]))
    return Finding(
        "pond_drawdown",
        np.where(out, RULES_OUT, FINE),
        np.where(worst_bed, bed * rules.pond_drawdown_h / rules.bed_drawdown_h, pond),
        rules.pond_drawdown_h,
        words,
        np.where(tested, pond <= 1.25 * rules.pond_drawdown_h, chance <= rules.soil_chance_out + 0.03),
    )


def chance_too_slow(table: Any, rules: Rules) -> Floats:
    """Chance that the garden does not empty in time."""
    chances = np.column_stack([number(table, f"chance_{group}") for group in "abcd"])
    return chance_infeasible(
        np.nan_to_num(chances),
        text(table, "hsg"),
        number(table, "ksat_um_s"),
        text(table, "ksat_source"),
        number(table, "ksat_spread"),
        rules,
    )


def soil_group(table: Any, rules: Rules) -> Finding:
    """Groups that do not drain well, as mapped, until a test says otherwise."""
    group, untested = text(table, "hsg"), text(table, "ksat_source") != "test"
    code, labels = pd.factorize(group)
    counted = [label[:1] if rules.dual_group_drained and "/" in label else label for label in labels]
    poor = ~np.array([label in WELL_DRAINED for label in counted], dtype=bool)[code] & ~_unknown(table)
    words = np.array([f"{label} as mapped" for label in labels], dtype=object)[code]
    return Finding("soil_group", np.where(poor & untested, TEST_SOIL, FINE), detail=words)


def _unknown(table: Any) -> Any:
    return table["hsg"].isna().to_numpy() | table["hsg"].isin(["", "unknown"]).to_numpy(dtype=bool)


def soil_unknown(table: Any, rules: Rules) -> Finding:  # noqa: ARG001 - the shape of a limit
    """Ground whose group nobody knows."""
    untested = text(table, "ksat_source") != "test"
    unmapped = text(table, "hsg_source") == "none"
    words = np.where(unmapped, "not mapped, or made ground", "the survey does not say")
    return Finding("soil_unknown", np.where(_unknown(table) & untested, TEST_SOIL, FINE), detail=words)


def soil_line(table: Any, rules: Rules) -> Finding:
    """Another group within the error of the map's line."""
    others = text(table, "near_groups")
    near = (others != "") & (text(table, "ksat_source") != "test")
    return Finding(
        "soil_line", np.where(near, TEST_SOIL, FINE), rules.soil_line_error_m, rules.soil_line_error_m, others
    )


def failed_test(table: Any, rules: Rules) -> Finding:  # noqa: ARG001 - the shape of a limit
    """A test elsewhere on the lot that was too slow."""
    away = number(table, "failed_test_m") if "failed_test_m" in table.columns else np.full(len(table), np.nan)
    untested = text(table, "ksat_source") != "test"
    return Finding("failed_test", np.where(np.isfinite(away) & untested, LOOK_CLOSER, FINE), away)


def slow_test(table: Any, rules: Rules) -> Finding:
    """A filling of a test hole that took longer than the pond may: the place is out, whatever its repeat says."""
    hours = number(table, "test_h") if "test_h" in table.columns else np.full(len(table), np.nan)
    limit = rules.pond_drawdown_h
    slow = hours > limit
    return Finding("slow_test", np.where(slow, RULES_OUT, FINE), hours, limit, near=slow & (hours <= 1.25 * limit))


def fast_soil(table: Any, rules: Rules) -> Finding:
    """Soil so fast that a well nearby may take the water unfiltered."""
    ksat_mm_h = number(table, "ksat_um_s") * UM_PER_S_MM_PER_H
    fast = ksat_mm_h > rules.infiltration_fast_mm_h
    return Finding("fast_soil", np.where(fast, NOTE, FINE), ksat_mm_h, rules.infiltration_fast_mm_h)


def run_on(table: Any, rules: Rules) -> Finding:
    """Ground that drains into the garden over its lip, where the rules ask for it."""
    if not rules.run_on:
        return Finding("run_on", np.zeros(len(table), dtype=np.int64))
    area = number(table, "run_on_m2")
    names = np.array([*GROUPS, f"{GROUPS[-1]}, as the group is not known"], dtype=object)
    words = "lawn of group " + names[group_number(text(table, "hsg"), drained=rules.dual_group_drained)]
    return Finding("run_on", np.where(area > 0.0, NOTE, FINE), area, detail=words)


def run_on_unknown(table: Any, rules: Rules) -> Finding:
    """Ground without elevation that may drain into the garden, where the rules ask for run-on."""
    unknown = np.isnan(number(table, "run_on_m2")) if rules.run_on else np.zeros(len(table), dtype=bool)
    return Finding("run_on_unknown", np.where(unknown, NOTE, FINE))


SOIL_LIMITS: Final = (
    drawdown,
    slow_test,
    failed_test,
    soil_group,
    soil_unknown,
    soil_line,
    fast_soil,
    run_on,
    run_on_unknown,
)
