"""Share work among a few threads; the kernels release the interpreter lock."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import Generic, TypeVar

__all__ = ["Crew", "crew", "in_bands"]

R = TypeVar("R")
W = TypeVar("W")

_ROWS_A_BAND = 128


class Crew(Generic[W]):
    """Some threads, each with a workspace of its own; made by `crew`."""

    def __init__(self, pool: ThreadPoolExecutor | None, workspace: Callable[[], W]) -> None:
        self._pool = pool
        self._make = workspace
        self._kept = threading.local()

    def map(self, work: Callable[[W, int], R], count: int) -> list[R]:
        """Call ``work(workspace, number)`` for 0 up to count; return the results in order."""

        def task(number: int) -> R:
            if not hasattr(self._kept, "workspace"):
                self._kept.workspace = self._make()
            return work(self._kept.workspace, number)

        if self._pool is None or count <= 1:
            return [task(number) for number in range(count)]
        return list(self._pool.map(task, range(count)))


@contextmanager
def crew(threads: int, workspace: Callable[[], W]) -> Iterator[Crew[W]]:
    """Some threads for as long as the context lasts; none when one is enough."""
    if threads <= 1:
        yield Crew(None, workspace)
        return
    with ThreadPoolExecutor(threads) as pool:
        yield Crew(pool, workspace)


def in_bands(work: Callable[[int, int], object], rows: int, threads: int) -> None:
    """Call ``work(first, last)`` for bands of rows that cover a raster, on some threads."""
    size = max(_ROWS_A_BAND, -(-rows // (8 * max(threads, 1))))
    bands = [(first, min(first + size, rows)) for first in range(0, rows, size)]
    with crew(threads if len(bands) > 1 else 1, lambda: None) as hands:
        hands.map(lambda _, n: work(*bands[n]), len(bands))
