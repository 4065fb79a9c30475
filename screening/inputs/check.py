"""What ``screening check`` says: what was found, what is missing and what that costs."""

from __future__ import annotations

from pathlib import Path

from screening.errors import Fault
from screening.inputs.reading import Reading, inspect_area

__all__ = ["check_area", "describe"]


def check_area(path: Path | str) -> tuple[list[str], tuple[Fault, ...]]:
    """Read an area and say what was found.

    Parameters
    ----------
    path
        The area file.

    Returns
    -------
    list of str
        Lines of the report.
    tuple of Fault
        Every fault.
    """
    reading = inspect_area(path)
    return describe(reading), reading.faults


def describe(reading: Reading) -> list[str]:
    """Lines that tell what was read."""
    lines = [f"{note.kind}: {note.text}" for note in reading.notes]
    return lines
