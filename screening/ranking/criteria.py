"""What a lot is scored on: a list of same-shaped functions, each from the lots table to a value of 0 to 10000.

Adding a criterion is one function here, one weight in the rules, one column in the fields, one test. Values are
whole numbers, so that anybody can redo a score with a pocket calculator and find the same.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.rules import Rules

__all__ = [
    "CRITERIA",
    "FULL",
    "lead_value",
    "room_value",
    "side_value",
    "slope_value",
    "soil_value",
    "straight_line",
    "water_value",
]

FULL: Final = 10000
"""The full value of a criterion and of a score."""

Values = NDArray[np.int64]
Floats = NDArray[np.float64]


def straight_line(measured: NDArray[np.float64], none: float, full: float) -> Values:
    """Value between two ends.

    Parameters
    ----------
    measured
        Measured values, shape (n,); NaN (unknown) scores nothing.
    none, full
        Where the value is 0 and where it is full; ``none`` may lie above ``full``.

    Returns
    -------
    numpy.ndarray
        Values 0 to 10000, int64, shape (n,), rounded half up.
    """
    if none == full:
        raise ValueError(f"none and full must differ, got {none} for both")
    share = np.clip((np.nan_to_num(measured, nan=none) - none) / (full - none), 0.0, 1.0)
    values: Values = np.floor(share * FULL + 0.5).astype(np.int64)
    return values


def _numbers(lots: pd.DataFrame, name: str) -> NDArray[np.float64]:
    numbers: NDArray[np.float64] = lots[name].astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    return numbers


def water_value(kept_m3: Floats, rules: Rules) -> Values:
    """Value of water kept out of the drain in the storm."""
    return straight_line(kept_m3, 0.0, rules.value_water_full_m3)


def soil_value(rate_mm_h: Floats, rules: Rules) -> Values:
    """Value of the infiltration: nothing at group D's rate and below, full at group A's."""
    return straight_line(rate_mm_h, rules.infiltration_d_mm_h, rules.infiltration_a_mm_h)


def lead_value(spare_m: Floats, run_m: Floats, rules: Rules) -> Values:
    """Value of a lead: half for fall to spare, half for a run shorter than the limit."""
    spare = straight_line(spare_m, 0.0, rules.value_fall_full_m)
    short = straight_line(run_m, rules.run_limit_m, min(rules.run_good_m, rules.run_limit_m - 0.01))
    return (spare + short) // 2


def slope_value(slope_pct: Floats, rules: Rules) -> Values:
    """Value of gentle ground: full on the flat, nothing at the limit."""
    return straight_line(slope_pct, rules.slope_limit_pct, 0.0)


def room_value(room_x: Floats, rules: Rules) -> Values:
    """Value of room, as a multiple of the size that is needed: nothing when it just fits."""
    return straight_line(room_x, 1.0, rules.value_room_full_x)


def side_value(sides: pd.Series[Any]) -> Values:
    """Value of the side of the lot: front, side (half), back (none)."""
    values: Values = sides.map({"front": FULL, "side": FULL // 2}).fillna(0).to_numpy(dtype=np.int64)
    return values


def water_kept(lots: pd.DataFrame, rules: Rules) -> Values:
    """Water kept out of the drain in the storm: the prize itself."""
    return water_value(_numbers(lots, "storm_kept_m3"), rules)


def soil(lots: pd.DataFrame, rules: Rules) -> Values:
    """How well the soil at the spot takes water."""
    return soil_value(_numbers(lots, "ksat_spot_um_s") * 3.6, rules)


def lead(lots: pd.DataFrame, rules: Rules) -> Values:
    """Ease of the lead."""
    return lead_value(_numbers(lots, "fall_m") - _numbers(lots, "fall_needed_m"), _numbers(lots, "run_m"), rules)


def slope(lots: pd.DataFrame, rules: Rules) -> Values:
    """Gentle ground under the garden."""
    return slope_value(_numbers(lots, "slope_spot_pct"), rules)


def room(lots: pd.DataFrame, rules: Rules) -> Values:
    """Room beyond the size that is needed."""
    return room_value(_numbers(lots, "room_m2") / _numbers(lots, "ponding_area_m2"), rules)


def side(lots: pd.DataFrame, rules: Rules) -> Values:  # noqa: ARG001  # every criterion has one shape
    """A garden in front, where neighbours see it, before one at the side or the back."""
    return side_value(lots["spot_side"])


CRITERIA: Final[tuple[tuple[str, str, Callable[[Any, Rules], Values]], ...]] = (
    ("value_water_kept", "weight_water_kept", water_kept),
    ("value_soil", "weight_soil", soil),
    ("value_lead", "weight_lead", lead),
    ("value_slope", "weight_slope", slope),
    ("value_room", "weight_room", room),
    ("value_side", "weight_side", side),
)
"""Column of the value, rule of the weight, and the function."""
