"""The sizing table as a page of the guide: made from the formula, so that it cannot differ from it."""

from __future__ import annotations

from typing import Final

import pandas as pd

from screening.rules import Rules
from screening.units import INCH_MM, SQUARE_FOOT_M2
from screening.water.sizing import served_area_table, sizing_table

__all__ = ["sizing_page"]

BEDS_MM: Final = (150.0, 300.0, 450.0, 600.0)
ROOFS_M2: Final = (15.0, 20.0, 30.0, 40.0, 60.0, 80.0, 100.0, 120.0, 150.0, 185.0)
PONDS_M2: Final = (3.0, 4.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 24.0, 28.0)
BEDS_IN: Final = (6.0, 12.0, 18.0, 24.0)
ROOFS_FT2: Final = (150.0, 200.0, 300.0, 400.0, 600.0, 800.0, 1000.0, 1300.0, 1600.0, 2000.0)
PONDS_FT2: Final = (30.0, 40.0, 60.0, 80.0, 100.0, 130.0, 170.0, 200.0, 250.0, 300.0)

_HEAD: Final = """\
# How large a garden

    ponding area = Rv x capture depth x draining area / (ponding depth + void fraction x bed depth)

The draining area is what is led to the garden, roof and paving in plan; the ponding area is where water stands, and
the ground taken with bank and berm is about double. Find the row of the draining area and the column of the bed's
depth; the second table goes the other way. Figures hold for capture depth {depth:g} mm, ponding depth {pond:g} mm, void
fraction {void:g}, Rv {rv:g}; `screening sizing RULES.toml` prints this page for other rules. A garden is never smaller
than {least:g} m2 nor larger than {most:g} m2 of ponding, and takes {roof:g} m2 of roof at most; a cell beyond either is
in brackets. Soil, local code and a licensed practitioner may ask for more.
"""


def sizing_page(rules: Rules) -> str:
    """Write the page: two tables in metric units, the same two in feet and inches.

    Parameters
    ----------
    rules
        Depths, void fraction, runoff coefficient, least and most sizes.
    """
    head = _HEAD.format(
        depth=rules.capture_depth_mm,
        pond=rules.ponding_depth_mm,
        void=rules.void_fraction,
        rv=rules.runoff_coefficient,
        least=rules.ponding_area_least_m2,
        most=rules.ponding_area_most_m2,
        roof=rules.draining_area_most_m2,
    )
    foot = SQUARE_FOOT_M2
    size_us = sizing_table([a * foot for a in ROOFS_FT2], [b * INCH_MM for b in BEDS_IN], rules) / foot
    roof_us = served_area_table([a * foot for a in PONDS_FT2], [b * INCH_MM for b in BEDS_IN], rules) / foot
    ponds = rules.ponding_area_least_m2, rules.ponding_area_most_m2
    roofs = 0.0, rules.draining_area_most_m2
    parts = [
        head,
        "## Ponding area in m2\n",
        _table(sizing_table(ROOFS_M2, BEDS_MM, rules), ROOFS_M2, BEDS_MM, ("Draining area, m2", "mm"), ponds, 1),
        "## Draining area that a ponding area serves, in m2\n",
        _table(served_area_table(PONDS_M2, BEDS_MM, rules), PONDS_M2, BEDS_MM, ("Ponding area, m2", "mm"), roofs, 0),
        "## Ponding area in sq ft\n",
        _table(size_us, ROOFS_FT2, BEDS_IN, ("Draining area, sq ft", "in"), (ponds[0] / foot, ponds[1] / foot), 0),
        "## Draining area that a ponding area serves, in sq ft\n",
        _table(roof_us, PONDS_FT2, BEDS_IN, ("Ponding area, sq ft", "in"), (0.0, roofs[1] / foot), 0),
    ]
    return "\n".join(parts)


def _table(
    cells: pd.DataFrame,
    rows: tuple[float, ...],
    columns: tuple[float, ...],
    words: tuple[str, str],
    bounds: tuple[float, float],
    decimals: int,
) -> str:
    """A table in Markdown; cells beyond the bounds in brackets."""
    lines = [
        f"| {words[0]} | " + " | ".join(f"bed {column:g} {words[1]}" for column in columns) + " |",
        "|---:|" + "---:|" * len(columns),
    ]
    for row, values in zip(rows, cells.to_numpy(dtype=float).tolist(), strict=True):
        told = [f"{value:.{decimals}f}" for value in values]
        within = [bounds[0] - 1e-9 <= value <= bounds[1] + 1e-9 for value in values]
        shown = [text if inside else f"({text})" for text, inside in zip(told, within, strict=True)]
        lines.append(f"| {row:g} | " + " | ".join(shown) + " |")
    return "\n".join(lines) + "\n"
