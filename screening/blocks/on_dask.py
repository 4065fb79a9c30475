"""Blocks worked on by the workers of a Dask cluster, their results in the order of the blocks.

A block is sent with its task, so a task can be run anew anywhere; it writes nothing. A few blocks more than there are
workers are on their way at a time, so memory here is bounded by the cluster and not by the area.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any, Final

from screening.area import AreaContext, Block, Tables
from screening.blocks.stages import run_block
from screening.clock import Clock
from screening.errors import BadInput, Fault

__all__ = ["dask_client", "on_dask"]

PATIENCE_S: Final = 10.0
"""How long a scheduler may take to answer. [s]"""


@contextmanager
def dask_client(where: str) -> Iterator[Any]:
    """A ``distributed.Client``, closed at the end.

    Parameters
    ----------
    where
        The address of a scheduler, or how many workers to start on this machine.

    Raises
    ------
    BadInput
        When Dask is not installed, or no scheduler answers.
    """
    try:
        from distributed import Client, LocalCluster
    except ImportError:
        mend = "Install it with the package: pip install 'rain-garden-screening[dask]'"
        raise BadInput([Fault("Dask is not installed", mend)]) from None
    if where.isdecimal():
        workers = max(int(where), 1)
        with (
            LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=":0") as cluster,
            Client(cluster) as client,
        ):
            yield client
        return
    try:
        client = Client(where, timeout=PATIENCE_S)
    except (OSError, ValueError) as error:
        mend = "Give an address such as tcp://scheduler:8786, or a number of workers to start here"
        raise BadInput([Fault(f"No Dask scheduler answers at {where!r}", mend)]) from error
    with client:
        yield client


def on_dask(client: Any, blocks: Iterable[Block], context: AreaContext, clock: Clock) -> Iterator[Tables]:
    """Take each block from its roofs to its lots rows on some worker; yield the tables in order.

    Parameters
    ----------
    client
        A ``distributed.Client``.
    blocks, context
        The blocks, cut as they are needed, and what is known of the area.
    clock
        Adds up the processor time that each stage took on the workers.
    """
    import dask

    ahead = 2 * max(sum(client.nthreads().values()), 1)
    given = client.scatter(context, broadcast=True)
    waiting: deque[Any] = deque()

    def first() -> Tables:
        found: tuple[Tables, Mapping[str, float]] = waiting.popleft().result()
        tables, seconds = found
        clock.add(seconds)
        return tables

    try:
        with dask.config.set({"distributed.admin.large-graph-warning-threshold": "4GiB"}):
            for block in blocks:
                waiting.append(client.submit(_work, block, given, pure=False))
                if len(waiting) > ahead:
                    yield first()
        while waiting:
            yield first()
    finally:
        client.cancel(list(waiting))


def _work(block: Block, context: AreaContext) -> tuple[Tables, Mapping[str, float]]:
    """One block on a worker: its tables and its processor seconds by stage."""
    clock = Clock()
    return run_block(block, context, clock), clock.processor_s
