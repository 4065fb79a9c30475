"""Share work among a few threads; the kernels release the interpreter lock."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

__all__ = ["in_bands"]

_ROWS_A_BAND = 128


def in_bands(work: Callable[[int, int], object], rows: int, threads: int) -> None:
    """Call ``work(first, last)`` for bands of rows that cover a raster, on some threads."""
    size = max(_ROWS_A_BAND, -(-rows // (8 * max(threads, 1))))
    bands = [(first, min(first + size, rows)) for first in range(0, rows, size)]
    if threads <= 1 or len(bands) == 1:
        for first, last in bands:
            work(first, last)
        return
    with ThreadPoolExecutor(threads) as pool:
        for done in [pool.submit(work, first, last) for first, last in bands]:
            done.result()
