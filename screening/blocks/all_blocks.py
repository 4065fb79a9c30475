"""All blocks of an area: cut, worked on by some threads or by a cluster, joined."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray
from rasterio.errors import NotGeoreferencedWarning

from screening.area import Area, AreaContext, Tables
from screening.blocks.in_threads import in_order
from screening.blocks.on_dask import on_dask
from screening.blocks.split import cutter, groups, lots_per_block
from screening.blocks.stages import join_tables, run_block
from screening.clock import Clock
from screening.sources import RasterSource

__all__ = ["all_blocks"]


def all_blocks(
    area: Area,
    rasters: Mapping[str, RasterSource],
    context: AreaContext,
    *,
    most_lots: int | None = None,
    threads: int = 1,
    told: Callable[[int, int], None] | None = None,
    clock: Clock | None = None,
    client: Any | None = None,
) -> Tables:
    """Take every lot of an area from its roofs to its row.

    Parameters
    ----------
    area, rasters, context
        The area, what its terrain is like, and what every block is given.
    most_lots, threads
        Lots in a block at most, as many as suits the threads when None, and blocks worked on at a time; neither changes
        the answer.
    told
        Called with the lots done so far and all lots, after each block.
    clock
        Adds up where the time goes.
    client
        A ``distributed.Client`` whose workers take the blocks instead of threads; it does not change the answer.

    Returns
    -------
    dict
        Tables of all blocks, joined.
    """
    clock = clock or Clock()
    cut = cutter(area, rasters)
    hands = threads if client is None else sum(client.nthreads().values())
    most = most_lots or lots_per_block(len(area.layers["lots"]), max(hands, 1))
    positions = list(groups(area, most, context.rules, context.own_rules))

    def work(some: NDArray[np.int64]) -> Tables:
        with clock.part("cutting"):
            block = cut(some)
        return run_block(block, context, clock)

    if client is None:
        found = in_order(work, positions, threads)
    else:
        found = on_dask(client, map(cut, positions), context, clock)
    parts, done, total = [], 0, len(area.layers["lots"])
    with warnings.catch_warnings():
        # rasterizing mutes this for the whole process, and threads that mute others at that time would unmute it
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        for some, part in zip(positions, found, strict=True):
            parts.append(part)
            done += len(some)
            if told is not None:
                told(done, total)
    with clock.part("joining"):
        return join_tables(parts)
