"""Design infiltration at a place, how sure it is, and the chance that a garden there does not empty in time.

The conductivity that a survey gives is for undisturbed ground; on built lots it is divided by a rule. Where the survey
gives none, the group's design value stands in. Both are medians of a lognormal whose spread is a factor of one sigma.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from screening.rules import Rules
from screening.soils.groups import group_number
from screening.units import UM_PER_S_MM_PER_H

__all__ = [
    "chance_infeasible",
    "chance_slower",
    "design_ksat_um_s",
    "group_infiltration_mm_h",
    "least_infiltration_mm_h",
]


def group_infiltration_mm_h(rules: Rules) -> NDArray[np.float64]:
    """Design infiltration where only the group is known, A to D [mm/h]."""
    return np.array(
        [rules.infiltration_a_mm_h, rules.infiltration_b_mm_h, rules.infiltration_c_mm_h, rules.infiltration_d_mm_h]
    )


def design_ksat_um_s(
    survey_ksat_um_s: ArrayLike, hsg: ArrayLike, rules: Rules, *, built: ArrayLike = True
) -> tuple[NDArray[np.float64], NDArray[np.str_]]:
    """Design conductivity of the ground and where it comes from.

    A dual group that counts as D takes no more than group D's value, however well its soil would drain if drained.

    Parameters
    ----------
    survey_ksat_um_s
        Least conductivity within the bed's reach as the survey gives it, NaN where it gives none. [um/s]
    hsg
        Group labels, ``screening.soils.groups.LABELS``.
    rules
        ``built_lot_divisor``, ``infiltration_a_mm_h`` .. ``infiltration_d_mm_h``, ``dual_group_drained``.
    built
        Whether the ground is a built lot's, so that the survey's conductivity is divided.

    Returns
    -------
    ksat_um_s
        NaN where neither is known. [um/s]
    source
        ``survey``, ``group`` or ``none``.
    """
    survey = np.asarray(survey_ksat_um_s, dtype=np.float64)
    labels = np.atleast_1d(np.asarray(hsg)).tolist()
    number = group_number(labels, drained=rules.dual_group_drained).reshape(survey.shape)
    by_group = np.append(group_infiltration_mm_h(rules) / UM_PER_S_MM_PER_H, np.nan)[number]
    divided = survey / np.where(np.asarray(built, dtype=bool), rules.built_lot_divisor, 1.0)
    dual = np.array(["/" in label for label in labels], dtype=bool).reshape(survey.shape)
    wet = dual & (number == 3) & (divided > by_group)  # the ground water, not the soil, makes it slow
    surveyed = np.isfinite(survey) & ~wet
    ksat = np.where(surveyed, divided, by_group)
    source = np.where(surveyed, "survey", np.where(number >= 0, "group", "none"))
    return ksat, source


def least_infiltration_mm_h(
    rules: Rules, *, ponding_depth_mm: ArrayLike | None = None, bed_depth_mm: ArrayLike | None = None
) -> NDArray[np.float64]:
    """Slowest infiltration at which pond and bed both empty in their limits [mm/h].

    Parameters
    ----------
    rules
        Limits, void fraction, and the depths where none are given.
    ponding_depth_mm, bed_depth_mm
        Depths of the garden, the rules' own where None. [mm]
    """
    pond = np.asarray(rules.ponding_depth_mm if ponding_depth_mm is None else ponding_depth_mm, dtype=np.float64)
    bed = np.asarray(rules.bed_depth_mm if bed_depth_mm is None else bed_depth_mm, dtype=np.float64)
    whole = pond + rules.void_fraction * bed
    return np.asarray(np.maximum(pond / rules.pond_drawdown_h, whole / rules.bed_drawdown_h))


def chance_slower(median_mm_h: ArrayLike, limit_mm_h: ArrayLike, spread: ArrayLike) -> NDArray[np.float64]:
    """Chance that a lognormal infiltration is slower than a limit.

    Parameters
    ----------
    median_mm_h
        Its median; NaN gives NaN, zero gives 1. [mm/h]
    limit_mm_h
        The limit. [mm/h]
    spread
        Factor of one sigma, 1 when it is certain.
    """
    median, limit, factor = np.broadcast_arrays(
        np.asarray(median_mm_h, dtype=np.float64),
        np.asarray(limit_mm_h, dtype=np.float64),
        np.asarray(spread, dtype=np.float64),
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        sigmas = np.log(limit / median) / np.log(factor)
    certain = np.where(median < limit, 1.0, 0.0)
    chance = np.where(factor > 1.0, ndtr(sigmas), certain)
    chance = np.where((limit <= 0.0) & (median >= 0.0), 0.0, chance)
    return np.where(np.isnan(median) | np.isnan(factor), np.nan, chance)


def chance_infeasible(
    chances: ArrayLike,
    hsg: ArrayLike,
    ksat_um_s: ArrayLike,
    ksat_source: ArrayLike,
    ksat_spread: ArrayLike,
    rules: Rules,
    *,
    ponding_depth_mm: ArrayLike | None = None,
    bed_depth_mm: ArrayLike | None = None,
) -> NDArray[np.float64]:
    """Chance that the pond or the bed does not empty within its limit.

    A mixture over the groups that the ground may be: the mapped group with its design conductivity, every other group
    with that group's design value; the share that no map tells (what ``chances`` lack of 1) as an equal mixture of the
    four, or by the survey's conductivity where it gives that but no group. A test at the place, or tests near it, stand
    alone.

    Parameters
    ----------
    chances
        Chance of A, B, C and D, shape (n, 4); what is missing to 1 is unknown.
    hsg
        Mapped label, shape (n,).
    ksat_um_s, ksat_source, ksat_spread
        Design conductivity [um/s], its source (survey, group, test or none) and spread, shape (n,).
    rules
        Limits, depths, group values and spread.
    ponding_depth_mm, bed_depth_mm
        Depths of the garden, the rules' own where None. [mm]

    Returns
    -------
    numpy.ndarray
        Chance, shape (n,).
    """
    shares = np.asarray(chances, dtype=np.float64).reshape(-1, 4)
    ksat_mm_h = np.asarray(ksat_um_s, dtype=np.float64).reshape(-1) * UM_PER_S_MM_PER_H
    source = np.asarray(ksat_source).reshape(-1)
    spread = np.asarray(ksat_spread, dtype=np.float64).reshape(-1)
    need = np.broadcast_to(
        least_infiltration_mm_h(rules, ponding_depth_mm=ponding_depth_mm, bed_depth_mm=bed_depth_mm), ksat_mm_h.shape
    )
    by_group = chance_slower(group_infiltration_mm_h(rules), need[:, None], rules.infiltration_spread)
    own = chance_slower(ksat_mm_h, need, spread)
    number = group_number(np.asarray(hsg).reshape(-1).tolist(), drained=rules.dual_group_drained)
    surveyed = (source == "survey") & np.isfinite(own)
    unknown = np.where(surveyed & (number < 0), own, by_group.mean(axis=1))
    unknown = np.clip(1.0 - shares.sum(axis=1), 0.0, 1.0) * unknown
    mapped = np.flatnonzero(surveyed & (number >= 0))
    by_group[mapped, number[mapped]] = own[mapped]
    mixed = (shares * by_group).sum(axis=1) + unknown
    tested = np.isin(source.astype(str), ("test", "nearby test")) & np.isfinite(own)
    return np.where(tested, own, np.clip(mixed, 0.0, 1.0))
