"""A page to write and draw on: fonts, colours, the few shapes of text that a sheet needs. Places in millimetres."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from fpdf import FPDF

from screening.outputs.sheets.letters import covered, cut, font_file, wants_shaping, width_mm, wrap
from screening.ranking.sentences import Units

__all__ = ["INK", "LINE", "MARGIN", "SOFT", "SheetPage"]

MARGIN: Final = 11.0
INK: Final = (20, 25, 28)
SOFT: Final = (90, 100, 106)
LINE: Final = (160, 168, 173)

Colour = tuple[int, int, int]

_LEADING: Final = 0.46
"""Height of a line for each point of its size [mm]."""
_DATE: Final = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)
"""Stands in for the time of writing, so that equal runs give equal bytes."""


class SheetPage:
    """A document of one-page sheets.

    Parameters
    ----------
    units
        US units are printed on US letter paper, metric ones on A4.
    title
        Title of the document.
    """

    def __init__(self, units: Units, title: str) -> None:
        self.pdf = FPDF(format="letter" if units == "us" else "A4", unit="mm")
        self.pdf.set_auto_page_break(False)
        self.pdf.set_margin(MARGIN)
        self.pdf.c_margin = 0
        self.pdf.add_font("sans", "", font_file(bold=False))
        self.pdf.add_font("sans", "B", font_file(bold=True))
        self.pdf.set_creation_date(_DATE)
        self.pdf.set_title(title if covered(title) else "Sheets")
        self.pdf.set_lang("en")
        self.units = units
        self._style: tuple[float, bool, Colour] | None = None

    @property
    def width(self) -> float:
        """Width of the paper between the margins [mm]."""
        return float(self.pdf.w - 2 * MARGIN)

    @property
    def bottom(self) -> float:
        """Lowest place that is written on [mm]."""
        return float(self.pdf.h - MARGIN)

    def new(self) -> None:
        """Start a page."""
        self.pdf.add_page()
        self._style = None

    def style(self, size: float, *, bold: bool = False, colour: Colour = INK) -> None:
        """Set the font for what follows."""
        if self._style != (size, bold, colour):
            self.pdf.set_font("sans", "B" if bold else "", size)
            self.pdf.set_text_color(*colour)
            self._style = (size, bold, colour)

    def _write(self, x: float, y: float, text: str, size: float) -> None:
        """One line in the style that is set, its top at y; letters are shaped where their script wants it."""
        if not text:
            return
        if not wants_shaping(text):
            self.pdf.text(x, y + 0.33 * size, text)
            return
        self.pdf.set_text_shaping(True)
        self.pdf.set_xy(x, y)
        self.pdf.cell(width_mm(text, size), size * _LEADING, text)
        self.pdf.set_text_shaping(False)

    def text(
        self, x: float, y: float, width: float, text: str, size: float = 8, *, bold: bool = False, colour: Colour = INK
    ) -> float:
        """Write wrapped text and return the place below it."""
        self.style(size, bold=bold, colour=colour)
        for line in wrap(text, width, size, bold):
            self._write(x, y, line, size)
            y += size * _LEADING
        return y

    def high(self, width: float, text: str, size: float = 8, *, bold: bool = False) -> float:
        """Height of a text when it is wrapped [mm]."""
        return len(wrap(text, width, size, bold)) * size * _LEADING

    def one_line(
        self, x: float, y: float, width: float, text: str, size: float = 8, *, bold: bool = False, colour: Colour = INK
    ) -> None:
        """Write one line, cut with an ellipsis where it does not fit."""
        self.style(size, bold=bold, colour=colour)
        self._write(x, y, cut(text, width, size, bold), size)

    def heading(self, x: float, y: float, width: float, text: str) -> float:
        """A block's heading with a line under it; returns the place below."""
        self.one_line(x, y, width, text, 8.5, bold=True)
        self.line([(x, y + 4.3), (x + width, y + 4.3)], LINE, 0.2)
        return y + 5.2

    def pair(self, x: float, y: float, width: float, term: str, value: str) -> float:
        """A term at the left and its value at the right; returns the place below, the same when there is no value."""
        if not value:
            return y
        self.one_line(x, y, width * 0.62, term, 7, colour=SOFT)
        self.style(7, bold=True)
        self._write(x + width - width_mm(value, 7, True), y, value, 7)
        return y + 3.65

    @contextmanager
    def clipped(self, x: float, y: float, width: float, height: float) -> Iterator[None]:
        """Draw within a frame only; the style set before comes back after it."""
        style = self._style
        with self.pdf.rect_clip(x, y, width, height):
            yield
        self._style = style

    def _pen(self, colour: Colour, width: float) -> None:
        self.pdf.set_draw_color(*colour)
        self.pdf.set_line_width(width)

    @contextmanager
    def _dashed(self, dash: float) -> Iterator[None]:
        if dash:
            self.pdf.set_dash_pattern(dash, dash)
        yield
        if dash:
            self.pdf.set_dash_pattern()

    def line(self, points: list[tuple[float, float]], colour: Colour, width: float, dash: float = 0) -> None:
        """Draw a line through points."""
        self._pen(colour, width)
        with self._dashed(dash):
            if len(points) == 2:
                self.pdf.line(*points[0], *points[1])
            else:
                self.pdf.polyline(points, style="D")

    def area(
        self, points: list[tuple[float, float]], fill: Colour | None, colour: Colour, width: float, dash: float = 0
    ) -> None:
        """Draw a filled outline."""
        self._pen(colour, width)
        if fill is not None:
            self.pdf.set_fill_color(*fill)
        with self._dashed(dash):
            self.pdf.polygon(points, style="D" if fill is None else "DF")

    def blank(self, x: float, y: float, width: float, label: str, share: float = 0.5) -> float:
        """A label with a line to write on; returns the place below."""
        self.one_line(x, y, width * (1 - share), label, 7)
        self.line([(x + width * (1 - share), y + 3.4), (x + width, y + 3.4)], LINE, 0.2)
        return y + 4.9

    def box(self, x: float, y: float, width: float, label: str) -> float:
        """A box to tick with its label; returns the place below."""
        self.pdf.set_draw_color(*SOFT)
        self.pdf.set_line_width(0.25)
        self.pdf.rect(x, y + 0.2, 2.6, 2.6)
        return self.text(x + 4, y, width - 4, label, 7) + 0.55
