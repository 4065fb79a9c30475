"""What a sheet says and asks, apart from the lot's own numbers."""

from __future__ import annotations

from typing import Final

__all__ = ["BUILDING", "CALL", "CONSENTS", "FOLLOW_UP", "LEVELS", "NO_PLACE", "SEVERITY_WORDS", "SOIL_TEST"]

CALL: Final = (
    "May we come and look? Who owns the home, who decides?",
    "Where do the downspouts lead: ground, drive, street or a pipe? Please mark them on the plan.",
    "Does water stand in the yard, and for how long? A wet basement?",
    "Private lines: sprinklers, fences, gas to a grill, tanks, septic?",
    "Plans for this part of the yard? Rules of an association?",
    "Who would water it the first two summers, and weed it?",
)
"""Questions for the call before the visit."""

SOIL_TEST: Final = (
    ("date", "Date"),
    ("hole_depth_m", "Depth of the hole, m"),
    ("hole_width_m", "Width of the hole, m"),
    ("fill_1_h", "First filling empty after, h"),
    ("fill_2_h", "Second filling, h"),
    ("rain_48h_mm", "Rain in 48 h before, mm"),
)
"""Boxes of the soil test: the field file's columns, and what stands beside each box."""

PLAN_KEY: Final = (
    "Circle: downspout, filled where given, open with ? where guessed. Blue line: lead. Blue ellipse: the spot; dashed "
    "ones: other places. Orange dashes: overflow. Small square: inlet."
)

LEVELS: Final = (
    "Ground at the downspout",
    "Lip, at the spot's middle",
    "Lowest edge of the footprint",
    "Highest edge of the footprint",
    "Where the overflow goes",
)
"""Level readings, each against one benchmark."""

CONSENTS: Final = (
    "Household agrees to the place and the care",
    "Buried utilities located; ticket number:",
    "Association, easement holder or neighbour asked, where concerned",
)

BUILDING: Final = (
    "Lines marked; private lines asked after",
    "Setbacks measured from the eave",
    "Bottom dug level to the depth below the lip",
    "Mix in place, not trodden down",
    "Lip level, checked with water; overflow on stone",
    "Lead tried with a hose",
    "Mulched, planted, watered in",
)

FOLLOW_UP: Final = (
    "After the first storm: empty in time? Overflow where meant?",
    "First year: lead clear, berm whole, plants alive",
    "Second year: the same; mulch, weeds, silt at the inflow",
)

NO_PLACE: Final = "No garden place found from maps."
"""What a household is told where every place is ruled out."""

SEVERITY_WORDS: Final = {
    "rules out": "In the way: ",
    "look closer": "To be looked at: ",
    "test soil": "To be tested: ",
    "note": "",
}
