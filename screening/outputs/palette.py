"""Colours, in one place, for the map, the styles of the GeoPackage and the pictures.

Suitability has five classes of a sequential palette, pale and warm for the lowest and dark and cool for the highest; a
test keeps them apart for normal sight and for the three common kinds of colour blindness. Verdicts have a pattern as
well.
"""

from __future__ import annotations

from typing import Final

__all__ = ["GREY", "LIMITS", "SHADES", "SLOPE", "SOIL", "SUITABILITY", "palette_css"]

SUITABILITY: Final = ("#f2ef88", "#9bb893", "#418792", "#4f40a4", "#210340")
"""From the lowest scores to the highest."""

GREY: Final = "#9a9a9a"
"""Ruled out; always hatched as well."""

SOIL: Final[dict[str, str]] = {
    "A": "#e9c46a",
    "B": "#c98b4b",
    "C": "#8f6a8f",
    "D": "#4b4a78",
    "unknown": "#b8bcc0",
}
"""Hydrologic soil groups; dual groups take the colour of D."""

LIMITS: Final = ("#c2554d", "#d99a3d", "#5b8c5a", "#4d7ea8", "#8a5a9e", "#7a6a55")
"""Deciding limits of ruled-out lots, the commonest first; the last stands for all others."""


SLOPE: Final = ("#fcde9c", "#f0a75e", "#cd5c48", "#7a213f")
"""Classes of slope, the gentlest first; gentler ground is left clear."""

SHADES: Final = ("#a4e6ca", "#aa7a58", "#dadb63", "#3f7b8c", "#9b9fe7", "#8658d0")
"""Catchments of inlets: they stand for nothing, those side by side differ."""


def palette_css() -> str:
    """The colours as custom properties of the page."""
    lines = [f"--class-{number}: {colour};" for number, colour in enumerate(SUITABILITY, start=1)]
    lines += [f"--soil-{group.lower()}: {colour};" for group, colour in SOIL.items()]
    lines += [f"--limit-{number}: {colour};" for number, colour in enumerate(LIMITS, start=1)]
    lines += [f"--shade-{number}: {colour};" for number, colour in enumerate(SHADES, start=1)]
    lines += [f"--slope-{number}: {colour};" for number, colour in enumerate(SLOPE, start=1)]
    return ":root { " + " ".join([*lines, f"--out: {GREY};"]) + " }"
