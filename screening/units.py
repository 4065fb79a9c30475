"""Unit factors. Everything inside the package is SI; these convert at the borders.

Factors are exact by definition (international yard and pound agreement of 1959; the US survey foot of
the Mendenhall order; the US liquid gallon of 231 cubic inches).
"""

from __future__ import annotations

from typing import Final

__all__ = [
    "ACRE_M2",
    "FOOT_M",
    "GALLON_M3",
    "INCH_M",
    "INCH_MM",
    "IN_PER_H_MM_PER_H",
    "LENGTH_UNITS_M",
    "SQUARE_FOOT_M2",
    "UM_PER_S_MM_PER_H",
    "US_SURVEY_FOOT_M",
    "in_detail",
    "length_unit_m",
    "shown_score",
]

FOOT_M: Final = 0.3048
US_SURVEY_FOOT_M: Final = 1200.0 / 3937.0
INCH_M: Final = 0.0254
INCH_MM: Final = 25.4
SQUARE_FOOT_M2: Final = FOOT_M * FOOT_M
ACRE_M2: Final = 43560.0 * SQUARE_FOOT_M2
GALLON_M3: Final = 231.0 * INCH_M**3
UM_PER_S_MM_PER_H: Final = 3.6
IN_PER_H_MM_PER_H: Final = INCH_MM

LENGTH_UNITS_M: Final[dict[str, float]] = {
    "m": 1.0,
    "metre": 1.0,
    "meter": 1.0,
    "metres": 1.0,
    "meters": 1.0,
    "ft": FOOT_M,
    "foot": FOOT_M,
    "feet": FOOT_M,
    "us-ft": US_SURVEY_FOOT_M,
    "ftus": US_SURVEY_FOOT_M,
    "us survey foot": US_SURVEY_FOOT_M,
    "us_survey_foot": US_SURVEY_FOOT_M,
    "us survey feet": US_SURVEY_FOOT_M,
    "foot_us": US_SURVEY_FOOT_M,
    "cm": 0.01,
    "centimetre": 0.01,
    "centimeter": 0.01,
    "mm": 0.001,
    "in": INCH_M,
    "inch": INCH_M,
}


def in_detail(value: float, unit: str, decimals: int) -> str:
    """An amount as the detail of a reason holds it.

    It is in SI, and a no-break space before the unit tells it from what is quoted there, so that whoever writes the
    sentence can turn it into the reader's units.
    """
    return f"{value:.{decimals}f}\N{NO-BREAK SPACE}{unit}"


def length_unit_m(name: str) -> float | None:
    """Length of a named unit.

    Parameters
    ----------
    name
        A unit as files spell it: ``m``, ``ft``, ``US survey foot``, ... in any case.

    Returns
    -------
    float or None
        Metres in one unit [m], or None when the name is not known.
    """
    return LENGTH_UNITS_M.get(name.strip().lower())


def shown_score(score: int) -> int:
    """A score of 0 to 10000 as people read it: 0 to 100, halves up."""
    return (int(score) + 50) // 100
