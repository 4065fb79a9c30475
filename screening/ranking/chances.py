"""How sure the list is: draws of the truth given the data, acting on the kept candidates, never on the search.

In each draw every candidate has a fall, a slope, a soil and a roof; those that keep every limit are feasible, the best
of each lot is chosen by the order of ``siting.choose``, scored with the same whole numbers, and the lots are ranked.
What draws cannot settle (consent, trees, overflow, wells, what a household says) stays as the maps have it.
"""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from screening.fields import OFF_LIST
from screening.lot_rules import OwnRules
from screening.ranking.best_of_lot import best_of_lots
from screening.ranking.draw_setting import setting
from screening.ranking.error_field import error_field
from screening.ranking.lot_draws import lot_draws, weight_draws
from screening.rules import Rules

__all__ = ["RANK_SHARE", "Chances", "chances"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

LOTS_AT_A_TIME: Final = 100
RANK_SHARE: Final = 0.8
"""Share of the draws that a rank interval holds."""

WEIGHTS: Final = (
    "weight_water_kept",
    "weight_soil",
    "weight_lead",
    "weight_slope",
    "weight_room",
    "weight_side",
)


@dataclass(frozen=True, eq=False)
class Chances:
    """How sure the list is, one entry a lot in the order of the lots table.

    Parameters
    ----------
    feasible
        Chance that a garden can be built.
    in_first
        Chance to be among the first ``rules.visits`` of the list.
    ground
        Chance that the ground serves at the spot or at a place of the lot that is as good, soil left out; NaN where
        there is no spot.
    rank_low, rank_high
        Ranks that hold in ``rank_share`` of the draws, a draw without a garden counting as last; 0 where the lot is
        feasible in none.
    feasible_draws
        Whether each lot is feasible in each draw, shape (lots, draws).
    """

    feasible: Floats
    in_first: Floats
    ground: Floats
    rank_low: Integers
    rank_high: Integers
    feasible_draws: NDArray[np.bool_]


def chances(
    tables: Mapping[str, Any], rules: Rules, own_rules: OwnRules | None = None, *, rank_share: float = RANK_SHARE
) -> Chances:
    """Draw the truth ``rules.draws`` times and count.

    Parameters
    ----------
    tables
        ``lots`` (without score and rank; ``contact_status`` filled in), ``candidates``, ``leads`` and ``reasons``.
    rules
        Errors, draws, seed, weights and visits.
    own_rules
        Rules of single lots that differ from these: limits there, never what lots are compared by.
    rank_share
        Share of the draws that ``rank_low`` and ``rank_high`` hold.

    Returns
    -------
    Chances
        ``feasible`` and ``ground`` of a lot hang on that lot alone; the ranks on all.
    """
    lots = tables["lots"]
    count, draws = len(lots), rules.draws
    feasible = np.zeros((count, draws), dtype=bool)
    score = np.zeros((count, draws), dtype=np.int64)
    kept = np.zeros((count, draws), dtype=np.int64)
    ground = np.full(count, np.nan)
    world = setting(tables, rules, own_rules or {})
    field = error_field(rules.elevation_error_range_m, draws, rules.seed)
    weights = weight_draws(
        np.array([getattr(rules, name) for name in WEIGHTS]), rules.score_weights_firmness, draws, rules.seed
    )

    def work(part: slice) -> None:
        own = lot_draws(world.lot_ids[part], draws, rules.seed)
        rows = world.lots[part]
        feasible[rows], score[rows], kept[rows], ground[rows] = best_of_lots(world, part, field, own, weights, rules)

    parts = [slice(n, min(n + LOTS_AT_A_TIME, len(world.lots))) for n in range(0, len(world.lots), LOTS_AT_A_TIME)]
    # products of small matrices: threads of the library's own cost more than they bring, and sum in another order
    with threadpool_limits(1, "blas"), ThreadPoolExecutor(2) as pool:
        list(pool.map(work, parts))
        listed = feasible & ~lots["contact_status"].isin(OFF_LIST).to_numpy(dtype=bool)[:, None]
        rank = _ranks(score, kept, listed, pool)
    low, high = _rank_intervals(rank, rank_share)
    first = (rank > 0) & (rank <= rules.visits)
    return Chances(feasible.mean(axis=1), first.mean(axis=1), ground, low, high, feasible)


def _ranks(score: Integers, kept: Integers, listed: NDArray[np.bool_], pool: Executor) -> Integers:
    """Rank the listed lots of each draw as ``score.ranks`` does; 0 where a lot is not listed."""
    out = np.zeros(score.T.shape, dtype=np.int32)
    key, on_list = np.ascontiguousarray(-((score << 32) + kept).T), np.ascontiguousarray(listed.T)

    def rank(draw: int) -> None:
        lots = np.flatnonzero(on_list[draw])
        order = np.argsort(key[draw, lots], kind="stable")
        out[draw, lots[order]] = np.arange(1, order.size + 1)

    list(pool.map(rank, range(len(out))))
    return np.ascontiguousarray(out.T)


def _rank_intervals(rank: Integers, share: float) -> tuple[Integers, Integers]:
    """First and last rank of the middle draws of each lot."""
    count, draws = rank.shape
    if count == 0:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    last = np.maximum(rank.max(axis=0), 1)
    ordered = np.sort(np.where(rank > 0, rank, last), axis=1).astype(np.int64)
    cut = int(np.floor(draws * (1.0 - share) / 2.0 + 1e-9))
    some = (rank > 0).any(axis=1)
    return np.where(some, ordered[:, cut], 0), np.where(some, ordered[:, draws - 1 - cut], 0)
