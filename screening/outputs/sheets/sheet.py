"""One lot's sheet: plan, numbers, why, what to ask, what to measure, what to check, cautions."""

from __future__ import annotations

from itertools import groupby
from typing import Any, Final
from urllib.parse import quote

import segno

from screening.fields import REASONS, SEVERITIES
from screening.outputs.cautions import CAUTIONS, OTHER_HELP
from screening.outputs.code_words import STEPS
from screening.outputs.sheets import words
from screening.outputs.sheets.gather import LotSheet, Surroundings
from screening.outputs.sheets.numbers import Pairs, bill_pairs, garden_pairs, lot_pairs, sizing_pairs
from screening.outputs.sheets.page import LINE, MARGIN, SOFT, SheetPage
from screening.outputs.sheets.plan import fit_plan
from screening.outputs.sheets.plan_drawing import draw_plan
from screening.ranking.sentences import sentence
from screening.result import Screening
from screening.units import shown_score

__all__ = ["draw_sheet"]

_GAP: Final = 5.0
_MORE: Final = 4.0
"""Room for the line that says how many reasons are left out [mm]."""


def _text(value: Any) -> str:
    return "" if value is None else str(value)


def _code(page: SheetPage, lot_id: str, x: float, y: float, side: float) -> None:
    """A square code that holds the lot's address in the map."""
    matrix = segno.make(f"map.html#lot={quote(lot_id, safe='')}", error="m", micro=False, mask=3).matrix
    cell = side / len(matrix)
    page.pdf.set_fill_color(0, 0, 0)
    for row, cells in enumerate(matrix):
        column = 0
        for dark, run in groupby(cells):
            length = len(tuple(run))
            if dark:
                page.pdf.rect(x + column * cell, y + row * cell, length * cell, cell, style="F")
            column += length


def _head(page: SheetPage, lot: Any, name: str, title: str) -> float:
    """Name, place in the list and the code; returns the place below."""
    side = 17.0
    wide = page.width - side - 4
    page.one_line(MARGIN, MARGIN, wide, name, 15, bold=True)
    below = [part for part in (f"Lot {lot.lot_id}", _text(lot.street), title) if part and part != name]
    page.one_line(MARGIN, MARGIN + 7.4, wide, " · ".join(below), 8, colour=SOFT)
    page.one_line(MARGIN, MARGIN + 12, wide, _standing(lot), 9, bold=True)
    _code(page, str(lot.lot_id), MARGIN + page.width - side, MARGIN, side)
    return MARGIN + side + 2


def _standing(lot: Any) -> str:
    """Verdict, next step, rank and score in a line; where nothing was found, the household's wording."""
    if lot.verdict == "ruled out":
        return words.NO_PLACE
    step = STEPS.get(_text(lot.next_step), _text(lot.next_step))
    group = _text(lot.rank_group)
    about = f", about equal {group.replace('-', '–')}" if "-" in group else ""
    verdict = str(lot.verdict).capitalize()
    return f"{verdict}. Next: {step}. Rank {lot.rank}{about}, score {shown_score(lot.score)} of 100."


def _pairs(page: SheetPage, x: float, y: float, width: float, title: str, pairs: Pairs) -> float:
    if not any(value for _, value in pairs):
        return y
    y = page.heading(x, y, width, title)
    for term, value in pairs:
        y = page.pair(x, y, width, term, value)
    return y + 2


def _reasons(page: SheetPage, x: float, y: float, width: float, lowest: float, reasons: list[Any]) -> float:
    """Reasons as sentences, the heaviest first, as many as there is room for."""
    y = page.heading(x, y, width, "Why")
    weight = {severity: number for number, severity in enumerate(SEVERITIES)}
    order = {code: number for number, code in enumerate(REASONS)}
    rows = sorted(reasons, key=lambda row: (weight[row.severity], order[row.code]))
    if not rows:
        return page.text(x, y, width, "Nothing stands against a garden here.", 7)
    for number, row in enumerate(rows):
        said = sentence(REASONS[row.code], row.measured, row.limit, _text(row.unit), row.detail, page.units)
        told = words.SEVERITY_WORDS[row.severity] + said
        more = len(rows) - number
        if number and y + page.high(width, told, 7) + (_MORE if more > 1 else 0.0) > lowest:
            return page.text(x, y, width, f"… and {more} more on the map.", 7, colour=SOFT)
        y = page.text(x, y, width, told, 7) + 0.8
    return y


def _boxes(page: SheetPage, x: float, y: float, width: float, title: str, lines: tuple[str, ...]) -> float:
    y = page.heading(x, y, width, title)
    for line in lines:
        y = page.box(x, y, width, line)
    return y + 1.6


def _blanks(
    page: SheetPage, x: float, y: float, width: float, title: str, lines: tuple[str, ...], share: float
) -> float:
    y = page.heading(x, y, width, title)
    for line in lines:
        y = page.blank(x, y, width, line, share)
    return y + 1.6


def _notes(page: SheetPage, x: float, y: float, width: float, lowest: float) -> None:
    """Lines to write on, down to the cautions."""
    count = int((lowest - y - 6) // 5)
    if count > 0:
        _blanks(page, x, y, width, "Notes", ("",) * count, 1.0)


def _yes_no(page: SheetPage, x: float, y: float, width: float, lines: tuple[tuple[str, str], ...]) -> float:
    """Lines that are answered with yes or no."""
    for _, label in lines:
        page.one_line(x, y, width - 21, label, 7)
        page.box(x + width - 20, y, 10, "yes")
        y = page.box(x + width - 9, y, 9, "no") + 0.3
    return y


def _call(page: SheetPage, x: float, y: float, width: float) -> float:
    """Questions of the call, each with room for its answer."""
    y = _yes_no(page, x, page.heading(x, y, width, "Ask on the call"), width, words.CALL)
    for question in words.CALL_LINES:
        page.one_line(x, y, width, question, 7)
        page.line([(x, y + 8), (x + width, y + 8)], LINE, 0.2)
        y += 9.2
    return y + 1.6


def _measured(page: SheetPage, lines: tuple[tuple[str, str], ...]) -> tuple[str, ...]:
    """Labels of what is measured, with the field file's unit of a length or of rain beside each."""
    length, rain = ("in", "in") if page.units == "us" else ("cm", "mm")
    units = {"hole_depth": length, "hole_width": length, "at_house": length, "at_spot": length, "rain_48h": rain}
    return tuple(f"{label}, {units[name]}" if name in units else label for name, label in lines)


def _lower(page: SheetPage, top: float, garden: tuple[Pairs, Pairs] | None) -> None:
    """The three columns under the plan."""
    width = (page.width - 2 * _GAP) / 3
    first, second, third = (MARGIN + number * (width + _GAP) for number in range(3))
    y = _call(page, first, top, width)
    lowest = page.bottom - 15
    if garden is None:
        y = page.heading(second, top, width, "What else could help")
        for thing in OTHER_HELP:
            y = page.box(second, y, width, thing)
        _notes(page, second, y + 2, 2 * width + _GAP, lowest)
        return
    _blanks(page, first, y, width, "Soil test", ("Day", *_measured(page, words.SOIL_TEST)), 0.3)
    sizing, bill = garden
    y = _pairs(page, second, top, width, "Levels from the overflow lip", sizing)
    y = _pairs(page, second, y, width, "Materials in place, no waste", bill)
    _notes(page, second, y, width, lowest)
    y = _blanks(page, third, top, width, words.LEVELS_HEAD, _measured(page, words.LEVELS), 0.2)
    y = page.heading(third, y, width, "Consents, where concerned")
    y = _yes_no(page, third, y, width, words.CONSENTS)
    y = page.blank(third, y, width, words.TICKET, 0.4) + 1.6
    y = _boxes(page, third, y, width, "Building", words.BUILDING)
    _boxes(page, third, y, width, "Visits after", words.FOLLOW_UP)


def _cautions(page: SheetPage, y: float) -> None:
    page.line([(MARGIN, y), (MARGIN + page.width, y)], SOFT, 0.3)
    page.text(MARGIN, y + 1, page.width, " ".join(CAUTIONS), 6.2)


def draw_sheet(page: SheetPage, result: Screening, own: LotSheet, around: Surroundings, name: str, title: str) -> None:
    """Draw a lot's sheet on a new page.

    Parameters
    ----------
    page
        The document.
    result
        The result of a run.
    own
        The lot's rows.
    around
        What lies around the lots.
    name
        What the lot is called on the sheet.
    title
        The area's title as the sheet writes it.
    """
    lot, spot = own.lot, own.spot if own.lot.verdict != "ruled out" else None
    page.new()
    top = _head(page, lot, name, title)
    side = page.pdf.h - 185.0
    plan = fit_plan(lot.geometry.bounds, (MARGIN, top, side, side), page.units)
    draw_plan(page, plan, own, around, result.rasters["heights_m"])
    x, width = MARGIN + side + _GAP, page.width - side - _GAP
    rules = result.rules_of(str(lot.lot_id))
    pairs = lot_pairs(lot, page.units) if spot is None else garden_pairs(lot, own.spot_leads, rules, page.units)
    y = _pairs(page, x, top, width, "The lot" if spot is None else "The garden", pairs)
    _reasons(page, x, y, width, top + side - 17, own.rows["reasons"])
    page.text(x, top + side - 14.5, width, words.PLAN_KEY, 6.2, colour=SOFT)
    garden = None
    if spot is not None:
        garden = sizing_pairs(spot, rules, page.units), bill_pairs(own.bill, page.units)
    _lower(page, top + side + 3, garden)
    _cautions(page, page.bottom - 12)
