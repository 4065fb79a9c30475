"""What stands for and against each candidate: every limit as one function of the candidates table and the rules.

Adding a limit is one function of the same shape, one line in ``LIMITS`` and one reason in ``fields.reason_codes``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from screening.fields import SEVERITIES
from screening.rules import Rules
from screening.units import in_detail

__all__ = [
    "FINE",
    "LIMITS",
    "LOOK_CLOSER",
    "NOTE",
    "RULES_OUT",
    "TEST_SOIL",
    "Finding",
    "candidate_reasons",
    "number",
    "written",
]

FINE, NOTE, TEST_SOIL, LOOK_CLOSER, RULES_OUT = range(5)
"""How a limit stands at a candidate, from the lightest."""

_WORDS: Final = ("", *SEVERITIES[::-1])

SIGMAS: Final = 2.0
CARVED_SIGMAS: Final = 3.0
NEAR_SHARE: Final = 0.8
"""A size that reaches this share of its least passed nearly."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Finding:
    """How one limit stands at each candidate.

    ``severity``: FINE .. RULES_OUT; ``measured`` and ``limit`` in the reason's unit; ``detail``: words that the
    sentence needs; ``near``: failed narrowly.
    """

    code: str
    severity: NDArray[np.int64]
    measured: ArrayLike = np.nan
    limit: ArrayLike = np.nan
    detail: ArrayLike = ""
    near: ArrayLike = False


def number(table: Any, column: str) -> Floats:
    """A column as floats, NaN where missing."""
    given = table[column]
    if given.dtype == np.float64:
        return np.asarray(given.to_numpy(copy=True))
    values: Floats = pd.to_numeric(given).astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    return values


def flag(table: Any, column: str) -> NDArray[np.bool_]:
    """A column of flags; unknown counts as no."""
    values: NDArray[np.bool_] = table[column].fillna(False).to_numpy(dtype=bool)
    return values


def text(table: Any, column: str) -> NDArray[Any]:
    """A column of text, empty where missing."""
    values: NDArray[Any] = table[column].to_numpy(dtype=object, na_value="")
    return values


def written(sentence: str, values: ArrayLike) -> NDArray[Any]:
    """A sentence with each value put into its braces; written once for values that are alike."""
    different, which = np.unique(np.asarray(values), return_inverse=True)
    words: NDArray[Any] = np.array([sentence.format(value) for value in different.tolist()], dtype=object)[which]
    return words


def _either(condition: ArrayLike, severity: int) -> NDArray[np.int64]:
    return np.where(condition, severity, FINE)


def fall(table: Any, rules: Rules) -> Finding:  # noqa: ARG001 - the shape of a limit
    """Fall from the downspout to the lowest lip: short within two sigma asks for levels, short by more rules out."""
    margin, error = number(table, "fall_margin_m"), number(table, "fall_error_m")
    needed = number(table, "fall_needed_m")
    short = margin < -1e-9
    beyond = margin < -SIGMAS * error - 1e-9
    above = "Even the best place lies above the ground at the downspout."
    within = "That is within the error of the elevation ({:.2f}\N{NO-BREAK SPACE}m): take levels."
    words = np.where(beyond & (number(table, "fall_m") < 0.0), above, "").astype(object)
    some = short & ~beyond
    words[some] = written(within, 2 * error[some])
    return Finding(
        "fall",
        np.where(beyond, RULES_OUT, _either(short, LOOK_CLOSER)),
        margin + needed,
        needed,
        words,
        beyond & (margin >= -(SIGMAS + 1.0) * error),
    )


def steep(table: Any, rules: Rules) -> Finding:
    """Slope over the limit: by less than two sigma asks to look, by more rules out."""
    slope = number(table, "slope_pct")
    error = SIGMAS * rules.slope_error_pct
    over, beyond = slope > rules.slope_limit_pct, slope > rules.slope_limit_pct + error
    return Finding(
        "slope",
        np.where(beyond, RULES_OUT, _either(over, LOOK_CLOSER)),
        slope,
        rules.slope_limit_pct,
        np.where(beyond, "", f"That is within the error of a slope ({error:.0f} points)."),
        beyond & (slope <= rules.slope_limit_pct + 1.5 * error),
    )


def rather_steep(table: Any, rules: Rules) -> Finding:
    """Slope from which to look closer."""
    slope = number(table, "slope_pct")
    look = (slope >= rules.slope_look_pct) & (slope <= rules.slope_limit_pct)
    return Finding("slope_look", _either(look, LOOK_CLOSER), slope, rules.slope_look_pct)


def size(table: Any, rules: Rules) -> Finding:
    """Rain held under the programme's minimum: rules out unless the roof share may be small enough."""
    held, most = number(table, "capture_depth_mm"), number(table, "capture_most_mm")
    least = rules.capture_depth_least_mm
    small = held < least - 1e-6
    return Finding(
        "under_minimum",
        np.where(small & (most < least - 1e-6), RULES_OUT, _either(small, LOOK_CLOSER)),
        held,
        least,
        near=small & (np.fmax(held, most) >= NEAR_SHARE * least),
    )


def draining_area(table: Any, rules: Rules) -> Finding:
    """More roof on one downspout than one garden may take."""
    area = number(table, "draining_area_m2")
    over = area > rules.draining_area_most_m2 + 1e-6
    return Finding(
        "draining_area",
        _either(over, RULES_OUT),
        area,
        rules.draining_area_most_m2,
        near=over & (area * NEAR_SHARE <= rules.draining_area_most_m2),
    )


def small_share(table: Any, rules: Rules) -> Finding:
    """Less roof led than is worth leading, which only its gutters tell: placed downspouts have a range."""
    area = number(table, "draining_area_m2")
    small = area < rules.roof_share_least_m2 - 0.005
    return Finding("small_share", _either(small, LOOK_CLOSER), area, rules.roof_share_least_m2)


def upslope(table: Any, rules: Rules) -> Finding:
    """Concentrated flow over the spot."""
    area = number(table, "upslope_m2")
    return Finding("upslope", _either(area >= rules.upslope_look_m2, LOOK_CLOSER), area, rules.upslope_look_m2)


def _bottom_m(table: Any, rules: Rules) -> Floats:
    """Depth of the bed's bottom below the ground at the centre, never less than with the lip at the ground."""
    layers = (rules.ponding_depth_mm + rules.mulch_mm + rules.bed_depth_mm) / 1000.0
    return np.asarray(layers + np.maximum(number(table, "ground_m") - number(table, "lip_m"), 0.0))


def water_table(table: Any, rules: Rules) -> Finding:
    """Water table above the bed's bottom rules out; nearer to it than the clearance asks for a test."""
    depth, bottom = number(table, "water_table_m"), _bottom_m(table, rules)
    needed = bottom + rules.water_table_clearance_m
    severity = np.where(depth < bottom, RULES_OUT, _either(depth < needed, TEST_SOIL))
    return Finding("water_table", severity, depth, needed, near=depth >= bottom - 0.1)


def bedrock(table: Any, rules: Rules) -> Finding:
    """Bedrock above the bed's bottom rules out; nearer to it than the clearance asks for a test."""
    depth, bottom = number(table, "bedrock_m"), _bottom_m(table, rules)
    needed = bottom + rules.bedrock_clearance_m
    severity = np.where(depth < bottom, RULES_OUT, _either(depth < needed, TEST_SOIL))
    return Finding("bedrock", severity, depth, needed, near=depth >= bottom - 0.1)


def overflow(table: Any, rules: Rules) -> Finding:
    """Overflow that passes too near a building."""
    threatened = text(table, "overflow_threatens")
    words = np.where(threatened != "", "the building " + threatened, "")
    return Finding("overflow", _either(threatened != "", LOOK_CLOSER), limit=rules.overflow_clearance_m, detail=words)


def overflow_may_pass(table: Any, rules: Rules) -> Finding:
    """Overflow that may pass near a building: so far down that it has spread by then, or let out at the wrong end."""
    column = "overflow_may_pass"
    passed = text(table, column) if column in table.columns else np.full(len(table), "", dtype=object)
    words = np.array(["a building" if name == "farther down" else f"the building {name}" for name in passed], object)
    return Finding(column, _either(passed != "", NOTE), limit=rules.overflow_reach_m, detail=words)


def consent(table: Any, rules: Rules) -> Finding:  # noqa: ARG001 - the shape of a limit
    """Lead across an easement or a main."""
    crosses = flag(table, "crosses_easement")
    return Finding("consent", _either(crosses, LOOK_CLOSER), detail="an easement or a buried main")


def service(table: Any, rules: Rules) -> Finding:  # noqa: ARG001 - the shape of a limit
    """Lead across a buried service line: a caution, since a lead is shallow."""
    crosses = flag(table, "crosses_service") if "crosses_service" in table.columns else np.zeros(len(table), dtype=bool)
    return Finding("service", _either(crosses, NOTE))


def crown(table: Any, rules: Rules) -> Finding:
    """Under a tree of which only the crown is known."""
    words = f"its crown, or {in_detail(rules.tree_crown_least_m, 'm', 1)} around it"
    return Finding("tree_crown", _either(flag(table, "under_crown"), LOOK_CLOSER), detail=words)


def look_at(table: Any, rules: Rules) -> Finding:  # noqa: ARG001 - the shape of a limit
    """Ground that somebody must look at before a garden is promised."""
    words = text(table, "look_at")
    return Finding("avoid", _either(words != "", LOOK_CLOSER), detail=words)


def carved(table: Any, rules: Rules) -> Finding:
    """Overflow path that hangs on a cut through an obstacle in the elevation, too deep to be an error of it."""
    depth = number(table, "carved_m")
    least = max(rules.hollow_depth_m, CARVED_SIGMAS * rules.elevation_error_m)
    return Finding("carved", _either(depth >= least, LOOK_CLOSER), depth, least)


LIMITS: Final[tuple[Callable[[Any, Rules], Finding], ...]] = (
    fall,
    steep,
    rather_steep,
    size,
    draining_area,
    small_share,
    upslope,
    water_table,
    bedrock,
    overflow,
    overflow_may_pass,
    consent,
    service,
    crown,
    look_at,
    carved,
)
"""The limits that need no more than the table; those of the soil's permeability stand in ``soil_limits``."""


def candidate_reasons(findings: list[Finding], count: int) -> pd.DataFrame:
    """Put findings into rows: ``row`` (of the candidates table), then the columns of the reasons table."""
    weights = [np.broadcast_to(found.severity, count) for found in findings]
    rows = [np.flatnonzero(weight > FINE) for weight in weights]

    def of_rows(name: str, kind: Any) -> NDArray[Any]:
        values = (np.broadcast_to(np.asarray(getattr(found, name), dtype=kind), count) for found in findings)
        return np.concatenate([value[row] for value, row in zip(values, rows, strict=True)])

    codes = np.array([found.code for found in findings], dtype=object)
    table = pd.DataFrame(
        {
            "row": np.concatenate(rows),
            "code": np.repeat(codes, [len(row) for row in rows]),
            "weight": np.concatenate([weight[row] for weight, row in zip(weights, rows, strict=True)]),
            "measured": of_rows("measured", np.float64),
            "limit": of_rows("limit", np.float64),
            "detail": of_rows("detail", object),
            "near": of_rows("near", bool),
        }
    )
    table["severity"] = np.array(_WORDS, dtype=object)[table["weight"].to_numpy(dtype=np.int64)]
    return table
