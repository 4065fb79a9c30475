"""Candidates of each lot: where a whole garden can stand, what it serves and how, the best of them first."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.area import AreaContext, Block, Tables
from screening.siting.candidate_rows import candidate_rows, lead_rows, overflow_rows
from screening.siting.ground_mask import GroundMask
from screening.siting.kept import Kept
from screening.siting.kernels.centre_kernels import MOST_LEADS
from screening.siting.kernels.search_kernels import DETAILS, RECORD, search_lots
from screening.siting.kernels.why_kernels import why_none
from screening.siting.overflow import overflows
from screening.siting.search_arrays import World, new_work
from screening.siting.search_world import search_world

__all__ = ["CANDIDATES_MOST", "search", "search_lots_of", "without_candidate"]

CANDIDATES_MOST: Final = 8
"""Candidates kept of a lot."""

_CHUNK: Final = 64


def search(block: Block, context: AreaContext, mask: GroundMask, *, threads: int = 1) -> Tables:
    """Find the candidates of every lot of a block.

    Parameters
    ----------
    block
        The block, with the tables ``roof_pieces`` and ``downspouts`` (ground and reach filled in).
    context
        The rules.
    mask
        Lots and constraints on mask cells, and the same in vectors.
    threads
        Threads that share the lots; never changes the answer.

    Returns
    -------
    dict
        ``candidates`` (soils still missing, nothing chosen), ``leads``, ``overflow_paths``, and ``searched`` (see
        ``without_candidate``).
    """
    world = search_world(block, context, mask)
    kept = search_lots_of(world, len(block.lots), threads=threads)
    found = overflows(block, kept.numbers[:, DETAILS], kept.numbers[:, DETAILS + 1], context.rules)
    rows = candidate_rows(block, context, mask, world, kept, found)
    return {
        "candidates": rows,
        "leads": lead_rows(block, context, world, kept, rows),
        "overflow_paths": overflow_rows(context, rows, found),
        "searched": without_candidate(block, world, kept.lot),
    }


def without_candidate(block: Block, world: World, found: NDArray[np.int64]) -> pd.DataFrame:
    """Look again at lots where nothing was found: what worth leading they have, how wide their ground is, how far off.

    Returns
    -------
    pandas.DataFrame
        One row a lot without a candidate: ``lot_id``, ``spouts`` (worth leading), ``widest_m`` (across the widest open
        place within sight of them), ``away_m`` (from a downspout to the nearest place with room; NaN without one) and
        ``reach_m`` (the longest lead there).
    """
    lots = np.setdiff1d(np.arange(len(block.lots)), found)
    most = int(np.diff(world.lots.first_seg).max(initial=0))
    out = np.zeros((len(lots), 3))
    why_none(lots, world, np.empty(most, dtype=np.int64), np.empty((most, 3)), out)
    worth = np.concatenate([[0], np.cumsum(world.spouts.worth == 1)])
    first = world.lots.first_spout
    return pd.DataFrame(
        {
            "lot_id": block.lots["lot_id"].to_numpy(dtype=object)[lots],
            "spouts": worth[first[lots + 1]] - worth[first[lots]],
            "widest_m": 2.0 * out[:, 0],
            "away_m": np.where(np.isfinite(out[:, 1]), out[:, 1], np.nan),
            "reach_m": out[:, 2],
        }
    )


def search_lots_of(world: World, count: int, *, threads: int = 1) -> Kept:
    """Search lots 0 to ``count`` and keep the best candidates of each."""
    kept = np.full((count, CANDIDATES_MOST, RECORD), np.nan)
    tried = np.zeros((count, 3), dtype=np.int64)

    def chunk(first: int, last: int) -> None:
        work = new_work(world, CANDIDATES_MOST)
        while first < last:
            first = search_lots(first, last, world, work, kept, tried)
            if first < last:
                work = new_work(world, CANDIDATES_MOST, 2 * len(work.keys))

    if threads > 1:
        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(lambda first: chunk(first, min(first + _CHUNK, count)), range(0, count, _CHUNK)))
    else:
        chunk(0, count)
    found = np.isfinite(kept[:, :, 0])
    lot, _ = np.nonzero(found)
    numbers = kept[found]
    picks = numbers[:, 20 : 20 + 2 * MOST_LEADS].astype(np.int64)
    return Kept(lot, numbers, picks[:, :MOST_LEADS], picks[:, MOST_LEADS:])
