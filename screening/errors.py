"""Every error the package raises, in one tree.

::

    ScreeningError            something this package can explain in a sentence
    ├── BadInput              the user's files or settings cannot be used; holds every fault found
    └── StageFailed           a stage could not finish; says which, and where

The command line turns ``BadInput`` into exit code 3 and any other ``ScreeningError`` into 1.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["BadInput", "Fault", "ScreeningError", "StageFailed"]


@dataclass(frozen=True, order=True)
class Fault:
    """One thing wrong with the input, told so that its owner can mend it.

    Parameters
    ----------
    what
        What is wrong, as a sentence without its full stop.
    mend
        What to do about it, as a sentence without its full stop, or as a question.
    file, layer, feature
        Where it is; empty when the fault belongs to none.
    """

    what: str
    mend: str = ""
    file: str = ""
    layer: str = ""
    feature: str = ""

    def __str__(self) -> str:
        places = [
            f"{name} {value}"
            for name, value in (("file", self.file), ("layer", self.layer), ("feature", self.feature))
            if value
        ]
        where = f" ({', '.join(places)})" if places else ""
        end = "" if self.mend.endswith("?") else "."
        mend = f" {self.mend}{end}" if self.mend else ""
        return f"{self.what}{where}.{mend}"


class ScreeningError(Exception):
    """Something went wrong that this package can explain in a sentence."""


class BadInput(ScreeningError):
    """The input cannot be used; raised once, with every fault that was found."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class StageFailed(ScreeningError):
    """A stage could not finish; the message names the stage and the place."""
