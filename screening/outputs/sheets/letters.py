"""The sheet's letters: which the font can write, how wide they are, where lines break."""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from pathlib import Path
from typing import Final

import matplotlib
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

__all__ = ["covered", "cut", "font_file", "wants_shaping", "width_mm", "wrap"]

_FILES: Final = {False: "DejaVuSans.ttf", True: "DejaVuSans-Bold.ttf"}
_POINT_MM: Final = 25.4 / 72.0


def font_file(bold: bool) -> Path:
    """The font's file: DejaVu Sans, as matplotlib carries it."""
    return Path(matplotlib.get_data_path()) / "fonts" / "ttf" / _FILES[bold]


@lru_cache(maxsize=2)
def _advances(bold: bool) -> dict[int, float]:
    """Width of each letter the font can write, by code point, in parts of the font's size."""
    with TTFont(font_file(bold)) as font:
        widths, em = font["hmtx"].metrics, font["head"].unitsPerEm
        return {code: widths[glyph][0] / em for code, glyph in font.getBestCmap().items()}


def covered(text: str) -> bool:
    """Whether the font can write every letter of a text, in both weights."""
    return all(ord(sign) in _advances(False) and ord(sign) in _advances(True) for sign in text)


def wants_shaping(text: str) -> bool:
    """Whether letters join, turn or stack: scripts from right to left, and marks over letters."""
    if text.isascii():
        return False
    return any(unicodedata.combining(sign) or unicodedata.bidirectional(sign) in ("R", "AL") for sign in text)


@lru_cache(maxsize=20_000)
def width_mm(text: str, size: float, bold: bool = False) -> float:
    """Width of a text, letters side by side [mm]; ``size`` in points."""
    advances = _advances(bold)
    return sum(advances.get(ord(sign), 0.6) for sign in text) * size * _POINT_MM


@lru_cache(maxsize=5_000)
def wrap(text: str, width: float, size: float, bold: bool = False) -> tuple[str, ...]:
    """Break a text into lines no wider than ``width`` [mm]; a word too wide for a line is broken where it must be."""
    lines, line = [], ""
    for word in text.split():
        wider = f"{line} {word}" if line else word
        if width_mm(wider, size, bold) <= width:
            line = wider
            continue
        if line:
            lines.append(line)
        line = word
        while width_mm(line, size, bold) > width and len(line) > 1:
            fits = next(n for n in range(len(line) - 1, 0, -1) if n == 1 or width_mm(line[:n], size, bold) <= width)
            lines.append(line[:fits])
            line = line[fits:]
    return (*lines, line) if line else tuple(lines)


def cut(text: str, width: float, size: float, bold: bool = False) -> str:
    """The text on one line, with an ellipsis where it does not fit."""
    if width_mm(text, size, bold) <= width:
        return text
    shown = text
    while shown and width_mm(shown + "…", size, bold) > width:
        shown = shown[:-1].rstrip()
    return shown + "…"
