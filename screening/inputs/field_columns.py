"""Columns of a field file: what staff write down in a season, one row an event, and the template that explains them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["COLUMNS", "EVENTS", "STATUSES", "UNITS", "FieldColumn", "field_template"]

EVENTS: Final[dict[str, str]] = {
    "approach": "a letter, a knock or a call without an answer",
    "call": "the household answered, with what it said",
    "visit": "somebody was there",
    "test": "a soil test hole",
    "level": "readings of a level line",
    "consent": "somebody gave or refused consent",
    "ticket": "buried utilities were located",
    "status": "how far the lot has come",
    "built": "a garden as it was built",
}
"""What a row can be."""

STATUSES: Final = (
    "applied",
    "approved before digging",
    "built",
    "inspected",
    "paid",
    "refused",
    "not to be contacted",
)
"""Words of the column ``status``."""

UNITS: Final[dict[str, str]] = {
    "metric": "lengths in cm, areas in m2, rain in mm",
    "us": "lengths and rain in inches, areas in square feet",
}
"""Words of the column ``units``, and what numbers of that row are in."""

FILLINGS: Final = 4


@dataclass(frozen=True)
class FieldColumn:
    """One column: ``kind`` is id, choice, date, text, flag, length, area, rain, hours, share, place or degree."""

    name: str
    kind: str
    events: str
    meaning: str


def _fillings() -> tuple[FieldColumn, ...]:
    rows: list[FieldColumn] = []
    for number in range(1, FILLINGS + 1):
        which = "first filling" if number == 1 else f"filling {number}, on soil already wet"
        rows += [
            FieldColumn(f"fill_{number}_h", "hours", "test", f"Hours of the {which}."),
            FieldColumn(
                f"fill_{number}_start", "length", "test", "Depth of water at its start; empty: the hole's depth."
            ),
            FieldColumn(f"fill_{number}_end", "length", "test", "Depth of water at its end; empty or 0: it ran dry."),
        ]
    return tuple(rows)


COLUMNS: Final[tuple[FieldColumn, ...]] = (
    FieldColumn("lot", "id", "all", "The lot's id, exactly as in the lots layer."),
    FieldColumn(
        "what", "choice", "all", "What the row is: " + "; ".join(f"{k} ({v})" for k, v in EVENTS.items()) + "."
    ),
    FieldColumn("date", "date", "all", "Day, as 2026-05-31."),
    FieldColumn(
        "units", "choice", "all", "; ".join(f"{k}: {v}" for k, v in UNITS.items()) + ". Needed beside numbers."
    ),
    FieldColumn(
        "x", "place", "test level built", "East of the place, in the results' coordinates; empty: the lot's spot."
    ),
    FieldColumn("y", "place", "test level built", "North of the place."),
    FieldColumn("owner", "flag", "call", "yes or no: who answered owns the house."),
    FieldColumn("association", "flag", "call", "yes or no: an association has a say."),
    FieldColumn("basement", "flag", "call", "yes or no: the house has a basement."),
    FieldColumn("sump", "flag", "call", "yes or no: it has a sump pump."),
    FieldColumn("wet_spots", "text", "call", "no, yes, or where on the lot water stands."),
    FieldColumn("septic", "flag", "call", "yes or no: a septic tank or field."),
    FieldColumn("sprinklers", "flag", "call", "yes or no: buried sprinkler lines."),
    FieldColumn("pipes", "flag", "call", "yes or no: downspouts run into pipes."),
    FieldColumn("hole_depth", "length", "test", "Depth of the test hole."),
    FieldColumn("hole_width", "length", "test", "Its width."),
    *_fillings(),
    FieldColumn("water_at", "length", "test", "Depth of ground water seen in the hole or beside it; empty: none seen."),
    FieldColumn("rain_48h", "rain", "test", "Rain of the two days before."),
    FieldColumn("at_house", "length", "level", "Line down to the ground at the downspout."),
    FieldColumn("at_spot", "length", "level", "Line down to the ground at the spot."),
    FieldColumn("consent_of", "choice", "consent", "Whose: owner, association, easement, main or neighbour."),
    FieldColumn("consent", "flag", "consent", "yes when given, no when refused."),
    FieldColumn("ticket", "text", "ticket", "Number of the utility locating ticket."),
    FieldColumn("status", "choice", "status", "One of: " + ", ".join(STATUSES) + "."),
    FieldColumn("ponding_area", "area", "built", "Ponding area as built."),
    FieldColumn("ponding_depth", "length", "built", "Ponding depth as built."),
    FieldColumn("bed_depth", "length", "built", "Depth of the planting mix as built."),
    FieldColumn("area_treated", "area", "built", "Roof and paving connected."),
    FieldColumn("native_share", "share", "built", "Native share of the plants, 0 to 1."),
    FieldColumn("outfall", "text", "built", "Outfall or receiving water, where known."),
    FieldColumn("note", "text", "all", "Anything else. No names, please."),
)
"""Every column of a field file, in order."""

CONSENTS: Final = ("owner", "association", "easement", "main", "neighbour")

_EXAMPLES: Final[tuple[dict[str, str], ...]] = (
    {"lot": "A-001", "what": "approach", "date": "2026-04-02"},
    {"lot": "A-001", "what": "call", "date": "2026-04-09", "owner": "yes", "basement": "no", "wet_spots": "no"},
    {"lot": "A-001", "what": "test", "date": "2026-04-20", "units": "metric", "hole_depth": "60", "hole_width": "30",
     "fill_1_h": "9", "fill_2_h": "14", "rain_48h": "4"},
    {"lot": "A-001", "what": "level", "date": "2026-04-20", "units": "us", "at_house": "24", "at_spot": "35"},
    {"lot": "A-001", "what": "consent", "date": "2026-04-28", "consent_of": "easement", "consent": "yes"},
    {"lot": "A-001", "what": "ticket", "date": "2026-05-04", "ticket": "made-up 17"},
    {"lot": "A-001", "what": "status", "date": "2026-05-06", "status": "approved before digging"},
    {"lot": "A-001", "what": "built", "date": "2026-05-30", "units": "metric", "ponding_area": "9.5",
     "ponding_depth": "15", "bed_depth": "30", "area_treated": "60", "native_share": "0.8"},
)  # fmt: skip


def field_template() -> str:
    """A field file without rows: every column explained, made-up examples, all in lines that are not read."""
    lines = ["# Field results, one row for each thing that happened on a lot. Lines above the head that start with #",
             "# are not read."]  # fmt: skip
    for column in COLUMNS:
        of = "" if column.events == "all" else f" ({column.events.replace(' ', ', ')} rows)"
        lines.append(f"# {column.name}{of}: {column.meaning}")
    lines.append("# Made-up examples, to be taken out:")
    lines += ["# " + ",".join(row.get(column.name, "") for column in COLUMNS) for row in _EXAMPLES]
    lines.append(",".join(column.name for column in COLUMNS))
    return "\n".join(lines) + "\n"
