"""Draws the plan of a lot: roofs with their shares, downspouts, the spot with its leads and overflow, contours."""

from __future__ import annotations

from typing import Any, Final

import shapely

from screening.outputs.sheets.gather import LotSheet, Surroundings
from screening.outputs.sheets.letters import width_mm
from screening.outputs.sheets.page import INK, LINE, SOFT, SheetPage
from screening.outputs.sheets.plan import Plan, bar_length_m, contours
from screening.sources import RasterSource

__all__ = ["downspout_labels", "draw_plan"]

_WATER: Final = (11, 79, 108)
_SPOT: Final = (190, 226, 238)
_OVERFLOW: Final = (168, 72, 14)
_ROOF: Final = (232, 228, 220)
_CONTOUR: Final = (186, 162, 130)


def _parts(shape: Any) -> list[Any]:
    """Single parts of a geometry."""
    if shape is None or shape.is_empty:
        return []
    return [part for whole in getattr(shape, "geoms", [shape]) for part in getattr(whole, "geoms", [whole])]


def _area(page: SheetPage, plan: Plan, shape: Any, fill: Any, colour: Any, width: float, dash: float = 0) -> None:
    """A polygon; its holes are drawn as paper."""
    for part in _parts(shape):
        if part.geom_type != "Polygon":
            continue
        page.area(plan.place(part.exterior.coords), fill, colour, width, dash)
        for hole in part.interiors:
            page.area(plan.place(hole.coords), (255, 255, 255) if fill else None, colour, width, dash)


def _line(page: SheetPage, plan: Plan, shape: Any, colour: Any, width: float, dash: float = 0) -> None:
    for part in _parts(shape):
        if part.geom_type == "LineString":
            page.line(plan.place(part.coords), colour, width, dash)


def _ground(page: SheetPage, plan: Plan, heights: RasterSource, around: Surroundings) -> float:
    """Contours, paving, neighbours; returns the contour interval [m]."""
    lines, interval_m = contours(heights, plan.bounds_m, page.units)
    fine_m = 0.12 * plan.scale / 1000.0
    for line in shapely.simplify([shapely.LineString(line) for line in lines], fine_m):
        page.line(plan.place(line.coords), _CONTOUR, 0.15)
    for shape in around.within("paved", plan.bounds_m):
        _area(page, plan, shape, (240, 240, 238), LINE, 0.15)
    for shape in around.within("lots", plan.bounds_m):
        _area(page, plan, shape, None, LINE, 0.2)
    for shape in around.within("roof_pieces", plan.bounds_m):
        _area(page, plan, shape, (246, 245, 242), LINE, 0.2)
    return interval_m


def _garden(page: SheetPage, plan: Plan, own: LotSheet) -> None:
    """Other places, then leads, overflow and the spot."""
    for row in own.rows["candidates"]:
        if not row.chosen:
            _area(page, plan, row.geometry, None, SOFT, 0.2, 0.8)
    for row in own.spot_leads:
        _line(page, plan, row.geometry, _WATER, 0.5, 0 if row.lead == "surface" else 1.2)
    for row in own.spot_overflow:
        _line(page, plan, row.geometry, _OVERFLOW, 0.4, 1.0)
    if own.spot is not None:
        _area(page, plan, own.spot.geometry, _SPOT, _WATER, 0.5)


def downspout_labels(spouts: list[tuple[str, bool]]) -> list[str]:
    """What downspouts of one lot, by id and whether placed by the tool, are called there.

    A given one goes by its id, a placed one by its letter, after the number of its roof where several have such.
    """
    parts = [one.rpartition("/") if placed else ("", "", one) for one, placed in spouts]
    roofs = sorted({roof for roof, slash, _ in parts if slash})
    number = {roof: str(place) for place, roof in enumerate(roofs, start=1)} if len(roofs) > 1 else {}
    return [f"{number.get(roof, '')}{letter}" for roof, _, letter in parts]


def _downspouts(page: SheetPage, plan: Plan, downspouts: list[Any]) -> None:
    """Filled where given, open with a question mark where placed; each with its label."""
    labels = downspout_labels([(str(row.downspout_id), row.placed is not False) for row in downspouts])
    for row, label in zip(downspouts, labels, strict=True):
        (x, y) = plan.place([(row.geometry.x, row.geometry.y)])[0]
        guess = row.placed is not False
        page.pdf.set_draw_color(*_WATER)
        page.pdf.set_fill_color(*((255, 255, 255) if guess else _WATER))
        page.pdf.set_line_width(0.3)
        page.pdf.circle(x, y, 0.9, style="DF")
        page.one_line(x + 1.3, y - 3.0, 14, f"{label[:4]}?" if guess else label[:4], 6, colour=_WATER)


def _scale_and_north(page: SheetPage, plan: Plan, interval_m: float) -> None:
    """Scale bar, scale, contour interval and north arrow, in the frame's lower corners."""
    length_m, name = bar_length_m(plan.scale, page.units)
    long = length_m * 1000 / plan.scale
    x, y = plan.left + 3, plan.top + plan.height - 3
    page.pdf.set_fill_color(255, 255, 255)
    page.pdf.rect(plan.left, y - 5.6, long + 20, 8.6, style="F")
    page.line([(x, y - 1), (x, y), (x + long, y), (x + long, y - 1)], INK, 0.4)
    page.one_line(x, y - 4.6, 60, f"{name}   1:{plan.scale}", 6.5)
    x, y = plan.left + plan.width - 6, plan.top + plan.height - 12
    page.area([(x, y), (x + 1.6, y + 6), (x, y + 4.8), (x - 1.6, y + 6)], INK, INK, 0.2)
    page.one_line(x - 1, y + 6.4, 5, "N", 7, bold=True)
    if interval_m:
        each = f"{interval_m / 0.3048:g} ft" if page.units == "us" else f"{interval_m:g} m"
        told = f"contours every {each}"
        page.pdf.set_fill_color(255, 255, 255)
        page.pdf.rect(plan.left + 0.2, plan.top + 0.2, width_mm(told, 6) + 3.6, 4.6, style="F")
        page.one_line(plan.left + 2, plan.top + 1.5, 60, told, 6, colour=SOFT)


def draw_plan(page: SheetPage, plan: Plan, own: LotSheet, around: Surroundings, heights: RasterSource) -> None:
    """Draw a lot's plan.

    Parameters
    ----------
    page, plan
        Where to draw.
    own
        The lot's rows.
    around
        Neighbours (drawn pale), paving and inlets.
    heights
        Heights. [m]
    """
    with page.clipped(plan.left, plan.top, plan.width, plan.height):
        interval_m = _ground(page, plan, heights, around)
        for row in own.rows["roof_pieces"]:
            _area(page, plan, row.geometry, _ROOF, INK, 0.3)
        for row in own.rows["roof_shares"]:
            _area(page, plan, row.geometry, None, SOFT, 0.15, 0.6)
        _area(page, plan, own.lot.geometry, None, INK, 0.6)
        _garden(page, plan, own)
        _downspouts(page, plan, own.rows["downspouts"])
        for shape in around.within("inlets", plan.bounds_m):
            (x, y) = plan.place([(shape.centroid.x, shape.centroid.y)])[0]
            page.area([(x - 1, y - 1), (x + 1, y - 1), (x + 1, y + 1), (x - 1, y + 1)], (255, 255, 255), INK, 0.4)
        _scale_and_north(page, plan, interval_m)
    page.pdf.set_draw_color(*SOFT)
    page.pdf.set_line_width(0.25)
    page.pdf.rect(plan.left, plan.top, plan.width, plan.height)
