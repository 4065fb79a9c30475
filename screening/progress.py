"""Telling how far a run is: stage n of m, on a terminal as one moving line, elsewhere as plain lines."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol, TextIO

__all__ = ["PlainProgress", "Progress", "SilentProgress", "TerminalProgress", "progress_for"]


class Progress(Protocol):
    """What the pipeline tells its progress to."""

    def stage(self, name: str, number: int, total: int) -> None:
        """Stage ``number`` of ``total`` starts."""
        ...

    def step(self, done: int, total: int) -> None:
        """Within the stage, so many lots or tiles of so many are done."""
        ...

    def finished(self) -> None:
        """The run is over."""
        ...


class SilentProgress:
    """Says nothing: for library use."""

    def stage(self, name: str, number: int, total: int) -> None:
        """Say nothing."""

    def step(self, done: int, total: int) -> None:
        """Say nothing."""

    def finished(self) -> None:
        """Say nothing."""


class PlainProgress:
    """One plain line a stage."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def stage(self, name: str, number: int, total: int) -> None:
        """Print the stage."""
        print(f"[{number}/{total}] {name}", file=self._stream, flush=True)

    def step(self, done: int, total: int) -> None:
        """Say nothing: logs want one line a stage."""

    def finished(self) -> None:
        """Say nothing."""


class TerminalProgress:
    """One line that moves, with the share done and the time so far."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._start = time.monotonic()
        self._head = ""

    def _show(self, tail: str = "") -> None:
        seconds = time.monotonic() - self._start
        print(f"\r\x1b[2K{self._head}{tail}  {seconds:.0f} s", end="", file=self._stream, flush=True)

    def stage(self, name: str, number: int, total: int) -> None:
        """Show the stage."""
        self._head = f"[{number}/{total}] {name}"
        self._show()

    def step(self, done: int, total: int) -> None:
        """Show the share done."""
        self._show(f"  {done} of {total}")

    def finished(self) -> None:
        """Clear the line."""
        print("\r\x1b[2K", end="", file=self._stream, flush=True)


@contextmanager
def progress_for(stream: TextIO | None = None, *, quiet: bool = False) -> Iterator[Progress]:
    """Choose how to tell progress: a moving line on a terminal, plain lines elsewhere, nothing when quiet."""
    target = stream or sys.stderr
    progress: Progress
    if quiet:
        progress = SilentProgress()
    elif target.isatty():
        progress = TerminalProgress(target)
    else:
        progress = PlainProgress(target)
    try:
        yield progress
    finally:
        progress.finished()
