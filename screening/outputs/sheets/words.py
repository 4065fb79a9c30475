"""What a sheet says and asks, apart from the lot's own numbers."""

from __future__ import annotations

from typing import Final

__all__ = [
    "BUILDING",
    "CALL",
    "CONSENTS",
    "FOLLOW_UP",
    "LEVELS",
    "LEVELS_HEAD",
    "NO_PLACE",
    "SEVERITY_WORDS",
    "SOIL_TEST",
]

CALL: Final = (
    ("owner", "Owns the house"),
    ("association", "An association has a say"),
    ("basement", "Basement"),
    ("sump", "Sump pump"),
    ("septic", "Septic tank or field"),
    ("sprinklers", "Buried sprinkler lines"),
    ("pipes", "Downspouts run into pipes"),
)
"""Questions of the call that are answered yes or no: columns of the field file, and how the sheet asks."""

CALL_LINES: Final = (
    "Water stands where, how long?",
    "Other private lines, plans for the yard?",
    "Who would water and weed it?",
)

SOIL_TEST: Final = (
    ("hole_depth", "Hole, depth"),
    ("hole_width", "Hole, width"),
    ("fill_1_h", "Filling 1 empty after, h"),
    ("fill_2_h", "Filling 2, h"),
    ("fill_3_h", "Filling 3, h"),
    ("rain_48h", "Rain of the two days before"),
)
"""Boxes of the soil test: columns of the field file."""

PLAN_KEY: Final = (
    "Circle: downspout, filled where given, open with ? where guessed. Thick line from it: lead, dashed where piped. "
    "Filled ellipse: the spot; dashed ones: other places. Thin dashes from the spot: overflow. Small square: inlet."
)

LEVELS: Final = (
    ("at_house", "At the downspout"),
    ("at_spot", "At the spot"),
)
"""Readings from a level line down to the ground: columns of the field file."""

LEVELS_HEAD: Final = "Levels: line down to ground"

CONSENTS: Final = (
    ("owner", "Owner: place and care"),
    ("association", "Association"),
    ("easement", "Easement holder"),
    ("main", "Owner of a main"),
    ("neighbour", "Neighbour"),
)
"""Whose consent, by the field file's words; those that are not concerned stay empty."""

TICKET: Final = "Utilities located, ticket"

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
    "First year: 25 mm (1 in) of water a week with the rain",
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
