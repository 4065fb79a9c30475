"""Candidates of each lot: where a whole garden can stand, what it serves and how, the best of them first."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Final

import numpy as np

from screening.area import AreaContext, Block, Tables
from screening.siting.candidate_rows import Kept, candidate_rows, lead_rows, overflow_rows
from screening.siting.ground_mask import GroundMask
from screening.siting.kernels.centre_kernels import MOST_LEADS
from screening.siting.kernels.search_kernels import DETAILS, search_lots
from screening.siting.search_arrays import World, new_work
from screening.siting.search_world import search_world

__all__ = ["CANDIDATES_MOST", "search", "search_lots_of"]

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
        ``candidates`` (soils still missing, nothing chosen), ``leads`` and ``overflow_paths``.
    """
    world = search_world(block, context, mask)
    kept = search_lots_of(world, len(block.lots), threads=threads)
    rows = candidate_rows(block, context, mask, world, kept)
    return {
        "candidates": rows,
        "leads": lead_rows(block, context, world, kept, rows),
        "overflow_paths": overflow_rows(block, context, rows),
    }


def search_lots_of(world: World, count: int, *, threads: int = 1) -> Kept:
    """Search lots 0 to ``count`` and keep the best candidates of each."""
    kept = np.full((count, CANDIDATES_MOST, DETAILS + 2), np.nan)
    tried = np.zeros((count, 3), dtype=np.int64)

    def chunk(first: int) -> None:
        search_lots(first, min(first + _CHUNK, count), world, new_work(), kept, tried)

    starts = range(0, count, _CHUNK)
    if threads > 1:
        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(chunk, starts))
    else:
        for first in starts:
            chunk(first)
    found = np.isfinite(kept[:, :, 0])
    lot, _ = np.nonzero(found)
    numbers = kept[found]
    picks = numbers[:, 20 : 20 + 2 * MOST_LEADS].astype(np.int64)
    return Kept(lot, numbers, picks[:, :MOST_LEADS], picks[:, MOST_LEADS:])
