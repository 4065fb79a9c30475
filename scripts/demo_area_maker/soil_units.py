"""The soils of the neighbourhood: invented map units whose horizons give the group that is written beside them.

Groups follow from the least transmissive layer, the water table and any restriction (NEH part 630, chapter 7).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Component:
    """A soil of a map unit; depths in centimetres, conductivities in micrometres a second."""

    name: str
    share_pct: int
    group: str = ""
    drainage: str = "Well drained"
    horizons: tuple[tuple[str, int, int, float], ...] = ()
    restriction: tuple[str, int] | None = None
    wet_from_cm: int | None = None
    wet_months: tuple[int, ...] = ()
    kind: str = "Series"


@dataclass(frozen=True)
class MapUnit:
    """A map unit of the survey."""

    symbol: str
    name: str
    slope_pct: float
    components: tuple[Component, ...]
    group: str = ""


WINTER = (1, 2, 3, 4, 11, 12)
SANDY = (("Ap", 0, 24, 92.0), ("Bw", 24, 82, 42.0), ("C", 82, 200, 92.0))
LOAMY = (("Ap", 0, 21, 23.0), ("Bt", 21, 92, 9.0), ("C", 92, 200, 14.0))
SILTY = (("Ap", 0, 20, 9.0), ("Bt", 20, 84, 2.3), ("BC", 84, 200, 3.1))
CLAYEY = (("Ap", 0, 16, 3.0), ("Btss", 16, 110, 0.21), ("C", 110, 200, 0.4))
BOTTOM = (("A", 0, 28, 9.0), ("Bg", 28, 120, 2.7), ("Cg", 120, 200, 9.0))
SWALE = (("A", 0, 30, 14.0), ("Bg", 30, 130, 6.2), ("Cg", 130, 200, 14.0))
STONY = (("A", 0, 12, 28.0), ("Bw", 12, 72, 22.0), ("R", 72, 97, 0.005))


def figment(share: int) -> Component:
    """The sandy soil."""
    return Component("Figment", share, "A", "Somewhat excessively drained", SANDY)


def fabel(share: int) -> Component:
    """The loam of most of the area."""
    return Component("Fabel", share, "B", horizons=LOAMY)


def pretenda(share: int) -> Component:
    """The silty soil of the old terraces."""
    return Component("Pretenda", share, "C", "Moderately well drained", SILTY)


def mockton(share: int) -> Component:
    """The clay."""
    return Component("Mockton", share, "D", "Somewhat poorly drained", CLAYEY)


def urban(share: int) -> Component:
    """Built-over ground that the survey gave no group."""
    return Component("Urban land", share, drainage="", kind="Miscellaneous area")


WHIMSEY = Component("Whimsey", 85, "C/D", "Poorly drained", BOTTOM, None, 40, WINTER)
DREAMISH = Component("Dreamish", 88, "B/D", "Poorly drained", SWALE, None, 52, WINTER)
CRAGGLE = Component("Craggle", 80, "B", "Well drained", STONY, ("Lithic bedrock", 72))

UNITS: tuple[MapUnit, ...] = (
    MapUnit("2A", "Figment loamy sand, 0 to 3 percent slopes", 2.0, (figment(90), fabel(10)), "A"),
    MapUnit("5A", "Fabel loam, 0 to 4 percent slopes", 2.0, (fabel(92), pretenda(8)), "B"),
    MapUnit("5C", "Fabel loam, 4 to 12 percent slopes", 7.0, (fabel(94), pretenda(6)), "B"),
    MapUnit("8B", "Pretenda silt loam, 1 to 6 percent slopes", 3.0, (pretenda(85), mockton(15)), "C"),
    MapUnit("11B", "Mockton clay loam, 2 to 8 percent slopes", 5.0, (mockton(88), pretenda(12)), "D"),
    MapUnit(
        "14",
        "Whimsey silt loam, along streams",
        1.0,
        (WHIMSEY, Component("Dreamish", 15, "B/D", "Poorly drained", SWALE, None, 52, WINTER)),
        "C/D",
    ),
    MapUnit("16", "Dreamish loam, in swales", 1.0, (DREAMISH, fabel(12)), "B/D"),
    MapUnit("19F", "Craggle stony loam, 25 to 50 percent slopes", 35.0, (CRAGGLE, fabel(20)), "B"),
    MapUnit("30", "Urban land", 3.0, (urban(95), fabel(5)), ""),
    MapUnit("31", "Urban land-Fabel complex", 4.0, (urban(45), fabel(40), pretenda(15)), ""),
    MapUnit("W", "Water", 0.0, (Component("Water", 100, drainage="", kind="Miscellaneous area"),), ""),
)


def unit_key(symbol: str) -> str:
    """The map unit's key."""
    return str(900001 + [unit.symbol for unit in UNITS].index(symbol))
