"""Draws of how fast the ground at each candidate takes water, from the same mixture as ``soils.conductivity``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.ranking.error_field import ErrorField, error_field
from screening.ranking.lot_draws import lot_key
from screening.rules import Rules
from screening.siting.spot_limits import number, text
from screening.soils.conductivity import group_infiltration_mm_h
from screening.soils.groups import group_number
from screening.units import UM_PER_S_MM_PER_H

__all__ = ["SoilKinds", "UnitDraws", "soil_kinds", "unit_draws"]

Floats = NDArray[np.float64]

UNIT_STAGE: Final = 74
NEIGHBOUR_STAGE: Final = 75


@dataclass(frozen=True, eq=False)
class UnitDraws:
    """How much faster or slower soils are together, in sigmas.

    ``unit`` (units and one, draws): by map unit, the last row nought, for ground off the map; ``near``: the field that
    neighbours share; ``weight``: correlation over a whole unit.
    """

    unit: Floats
    near: ErrorField
    weight: float

    def rates(self, unit: NDArray[np.int64], place: Floats) -> Floats:
        """Normal draws that lots of one map unit share in part, and near ones for the most part, shape (n, draws).

        The correlation of two places of one unit is w + (1 - w) exp(-d2 / (2 range2)): of the shape that
        ``soils.field_test`` has, but rounder near 0.
        """
        weight = np.where(unit >= 0, self.weight, 0.0)[:, None]
        return np.asarray(np.sqrt(weight) * self.unit[unit] + np.sqrt(1.0 - weight) * self.near.at(place))


def unit_draws(names: Sequence[str], rules: Rules) -> UnitDraws:
    """Draw what the soils of each map unit have in common; it hangs on the seed and the unit's name alone."""
    rows = np.zeros((len(names) + 1, rules.draws))
    for at, name in enumerate(names):
        random = np.random.Generator(np.random.PCG64([rules.seed, UNIT_STAGE, *lot_key(name)]))
        rows[at] = random.standard_normal(rules.draws)
    near = error_field(rules.soil_correlation_range_m, rules.draws, rules.seed, NEIGHBOUR_STAGE)
    return UnitDraws(rows, near, rules.soil_unit_correlation)


class SoilKinds:
    """What the soil at each candidate may be: eight kinds, the four groups as mapped and the four if nobody knows.

    Parameters
    ----------
    upto
        Chance of a kind and those before it, shape (n, 8).
    median_mm_h
        Median infiltration of each kind, shape (n, 8) [mm/h].
    log_spread
        Sigma of its logarithm, shape (n, 8).
    alone
        Whether tests tell, so that the rate is the place's own, shape (n,).
    """

    def __init__(self, upto: Floats, median_mm_h: Floats, log_spread: Floats, alone: NDArray[np.bool_]) -> None:
        self.upto, self.median_mm_h, self.log_spread, self.alone = upto, median_mm_h, log_spread, alone

    def differs(self, rows: slice) -> NDArray[np.bool_]:
        """Where the soil at a candidate is not known to be that at the candidate before it, shape (candidates,)."""
        facts = np.column_stack([self.upto[rows], self.median_mm_h[rows], self.log_spread[rows], self.alone[rows]])
        return np.append(True, (facts[1:] != facts[:-1]).any(axis=1))

    def infiltration_mm_h(self, rows: NDArray[np.int64], kind: Floats, rate: Floats) -> Floats:
        """Draws of infiltration [mm/h].

        Parameters
        ----------
        rows
            Candidates, shape (candidates,).
        kind, rate
            Uniform and normal draws, shape (candidates, draws).
        """
        upto = self.upto[rows]
        which = np.zeros(kind.shape, dtype=np.intp)
        for column in range(upto.shape[1] - 1):
            which += kind >= upto[:, column, None]
        each = rows[:, None]
        return np.asarray(self.median_mm_h[each, which] * np.exp(rate * self.log_spread[each, which]))


def soil_kinds(candidates: Any, rules: Rules) -> SoilKinds:
    """Read the kinds of soil from the candidates table.

    The mapped group has the survey's conductivity where that is known, every other its group's design value; a test at
    the place, or tests near it, stand alone (as ``soils.conductivity.chance_infeasible``).
    """
    count = len(candidates)
    chances = np.nan_to_num(np.column_stack([number(candidates, f"chance_{group}") for group in "abcd"]))
    own = number(candidates, "ksat_um_s") * UM_PER_S_MM_PER_H
    own_spread = np.log(np.maximum(np.nan_to_num(number(candidates, "ksat_spread"), nan=1.0), 1.0))
    source = text(candidates, "ksat_source")
    which, labels = pd.factorize(text(candidates, "hsg"))
    mapped = group_number(labels.tolist(), drained=rules.dual_group_drained)[which]
    median = np.tile(group_infiltration_mm_h(rules), (count, 2))
    spread = np.full((count, 8), np.log(rules.infiltration_spread))
    surveyed = (source == "survey") & np.isfinite(own)
    known, unknown = np.flatnonzero(surveyed & (mapped >= 0)), surveyed & (mapped < 0)
    median[known, mapped[known]], spread[known, mapped[known]] = own[known], own_spread[known]
    alone = np.isin(source.astype(str), ("test", "nearby test")) & np.isfinite(own)
    for rows, columns in ((unknown, slice(4, 8)), (alone, slice(0, 8))):
        median[rows, columns], spread[rows, columns] = own[rows, None], own_spread[rows, None]
    rest = np.clip(1.0 - chances.sum(axis=1), 0.0, 1.0)
    upto = np.cumsum(np.column_stack([chances, *[rest / 4.0] * 4]), axis=1)
    return SoilKinds(upto, median, spread, alone)
