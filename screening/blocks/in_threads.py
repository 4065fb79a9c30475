"""Blocks worked on by a few threads, their results in the order of the blocks.

Kernels, geometry and most array work release the interpreter lock. Each block is cut, worked on and let go by one
thread; no more than one beside those at work is waiting, so memory is bounded by the threads and not by the area.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

__all__ = ["in_order"]

B = TypeVar("B")
R = TypeVar("R")


def in_order(work: Callable[[B], R], blocks: Iterable[B], threads: int) -> Iterator[R]:
    """Call ``work`` on each block and yield the results in order.

    Parameters
    ----------
    work
        Called with one block, in any thread; what it raises is raised here, once, that of the first block that failed.
    blocks
        Taken one after another, as threads become free.
    threads
        How many at a time; 1 starts none.
    """
    if threads <= 1:
        yield from map(work, blocks)
        return
    waiting: deque[Future[R]] = deque()
    with ThreadPoolExecutor(threads, thread_name_prefix="block") as pool:
        try:
            for block in blocks:
                waiting.append(pool.submit(work, block))
                if len(waiting) > threads:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            # after a fault, an interrupt or a caller who has enough: what has not begun is not begun
            for future in waiting:
                future.cancel()
