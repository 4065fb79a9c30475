"""Cells of a CSV that a spreadsheet would run as a formula: written with an apostrophe before them, read without it."""

from __future__ import annotations

import re
from collections.abc import Container
from typing import Final

__all__ = ["known_id", "plain_cell", "safe_cell"]

_RUNS: Final = re.compile(r"'*\s*[=+\-@\t\r\n]")
"""How text begins that a spreadsheet would run, and such text with apostrophes before it already: it gets one more,
so that taking one away gives back whatever was written."""


def safe_cell(text: str) -> str:
    """Put an apostrophe before text that a spreadsheet would run as a formula; other text stays as it is."""
    return "'" + text if _RUNS.match(text) else text


def plain_cell(cell: str) -> str:
    """The text that ``safe_cell`` made a cell of."""
    return cell[1:] if cell.startswith("'") and _RUNS.match(cell) else cell


def known_id(cell: str, known: Container[str]) -> str:
    """The id that a cell stands for: as it is where there is such an id, else without the apostrophe."""
    return cell if cell in known else plain_cell(cell)
