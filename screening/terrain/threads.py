"""Share work among a few threads; the kernels release the interpreter lock."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

__all__ = ["in_bands", "in_tiles"]

R = TypeVar("R")
W = TypeVar("W")

_ROWS_A_BAND = 128


def in_bands(work: Callable[[int, int], object], rows: int, threads: int) -> None:
    """Call ``work(first, last)`` for bands of rows that cover a raster, on some threads."""
    size = max(_ROWS_A_BAND, -(-rows // (8 * max(threads, 1))))
    bands = [(first, min(first + size, rows)) for first in range(0, rows, size)]
    in_tiles(lambda _, n: work(*bands[n]), len(bands), threads, lambda: None)


def in_tiles(work: Callable[[W, int], R], count: int, threads: int, workspace: Callable[[], W]) -> list[R]:
    """Call ``work(workspace, number)`` for each tile, on some threads with a workspace each; return the results."""
    if threads <= 1 or count <= 1:
        mine = workspace()
        return [work(mine, number) for number in range(count)]
    kept = threading.local()

    def task(number: int) -> R:
        if not hasattr(kept, "workspace"):
            kept.workspace = workspace()
        return work(kept.workspace, number)

    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(task, range(count)))
