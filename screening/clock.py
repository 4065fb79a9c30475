"""Where a run's time goes: processor seconds by stage, summed over its threads, and wall seconds of what runs alone."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

__all__ = ["Clock"]


def _spent_s() -> float:
    """Processor seconds of this process, and of those that it started and that have ended."""
    children = os.times()
    return time.process_time() + children.children_user + children.children_system


class Clock:
    """Adds up seconds by stage; any number of threads may add to one."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self.processor_s: dict[str, float] = {}
        self.wall_s: dict[str, float] = {}

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        """Time a stage that runs alone: wall seconds, processor seconds of the process and those that it started."""
        start = _spent_s()
        with self.wall(name):
            yield
        self._add(self.processor_s, name, _spent_s() - start)

    @contextmanager
    def part(self, name: str) -> Iterator[None]:
        """Time a stage beside which others run: processor seconds of this thread."""
        start = time.thread_time()
        yield
        self._add(self.processor_s, name, time.thread_time() - start)

    @contextmanager
    def wall(self, name: str) -> Iterator[None]:
        """Time several stages together: wall seconds."""
        start = time.perf_counter()
        yield
        self._add(self.wall_s, name, time.perf_counter() - start)

    def add(self, processor_s: Mapping[str, float]) -> None:
        """Add processor seconds by stage that were measured elsewhere."""
        for name, seconds in processor_s.items():
            self._add(self.processor_s, name, seconds)

    def _add(self, seconds_by_stage: dict[str, float], name: str, seconds: float) -> None:
        with self._lock:
            seconds_by_stage[name] = seconds_by_stage.get(name, 0.0) + seconds

    def figures(self, threads: int) -> dict[str, Any]:
        """What ``timings.json`` tells: the figures so far, with what they are."""
        return {
            "about": "processor_s: by stage, summed over threads, what is written beside other stages in theirs too; "
            "wall_s: of what runs one after another",
            "threads": threads,
            "processor_s": dict(self.processor_s),
            "wall_s": dict(self.wall_s),
        }
