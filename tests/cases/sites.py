"""Made-up lots and what a practitioner who walked them would say: verdict, deciding limit and place.

Metres; x east, y north, origin at the south-west corner of the lot; the street runs along y = 0 unless said; the ground
is a plane, 100 at the origin. Verdicts are judgement, common practice. The place is where a person would dig; a spot
within about two metres of it is right.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from shapely import LineString, Point, Polygon, box

APPROACH, TEST, LOOK, OUT = "approach", "test soil first", "look closer", "ruled out"
EVERYWHERE = box(-200, -200, 300, 300)
STREET = {"geometry": LineString([(-150, 0), (200, 0)]), "street": "Front Row"}


@dataclass(frozen=True)
class Site:
    """One lot and what is right for it.

    ``lots`` .. ``layers`` as ``tests.siting.lots.make_block`` takes them; ``places``: where a person would dig, any of
    them; ``code``: the deciding limit; ``led``: how many downspouts; ``tests``: soil tests ``(x, y, mm/h)``.
    """

    name: str
    words: str
    verdict: str
    plane: tuple[float, float]
    lots: tuple[Any, ...]
    roofs: tuple[Any, ...]
    places: tuple[tuple[float, float], ...] = ()
    code: str | None = None
    led: int | None = None
    group: str = "B"
    streets: tuple[Any, ...] = (STREET,)
    downspouts: tuple[Any, ...] | None = None
    soils: tuple[Any, ...] | None = None
    ground: Any = None
    layers: Mapping[str, tuple[Any, ...]] = field(default_factory=dict)
    tests: tuple[tuple[float, float, float], ...] = ()
    tolerance_m: float = 2.5


def house(west: float, south: float, east: float, north: float) -> dict[str, Any]:
    """A house of these eaves."""
    return {"geometry": box(west, south, east, north), "kind": "house"}


def standard(**more: Any) -> dict[str, Any]:
    """Lot 20 x 40, house x 4-16, y 12-22, four corner downspouts of 30 m2."""
    return {"lots": (box(0, 0, 20, 40),), "roofs": (house(4, 12, 16, 22),), **more}


def bowl(x: Any, y: Any) -> Any:
    """A bowl 0.25 deep and 4 in radius, centred (10, 33)."""
    return -np.clip(0.25 * (1.0 - ((x - 10.0) ** 2 + (y - 33.0) ** 2) / 16.0), 0.0, None)


def corners(west: float, south: float, east: float, north: float, share_m2: float, **more: Any) -> tuple[Any, ...]:
    """Downspouts at the four corners, counted from the south-west against the clock."""
    points = [(west, south), (east, south), (east, north), (west, north)]
    return tuple({"geometry": Point(point), "share_m2": share_m2, **more} for point in points)


CORNER_STREETS = (STREET, {"geometry": LineString([(25, -60), (25, 90)]), "street": "Cross Row"})
BACK_STREET = {"geometry": LineString([(-150, 87), (200, 87)]), "street": "Back Row"}
FLAG = Polygon([(0, 0), (5, 0), (5, 40), (30, 40), (30, 75), (0, 75)])
COURT = Polygon(
    [(7, 12), (23, 12), (23, 28), (7, 28)], [[(12, 17), (12, 23), (18, 23), (18, 17)]]
)  # fmt: skip
WET_STRIP = box(-200, 24, 300, 300)
DRY_FRONT = box(-200, -200, 300, 24)


def slope_site(percent: float, verdict: str, code: str | None) -> Site:
    """The standard lot on a steep fall to the north."""
    return Site(
        f"slope {percent:g}%",
        "A slope at 5 m is good to about a point: ruled out from three points over the limit of 15%, to be looked at "
        "from 12%.",
        verdict,
        (0, -percent / 100),
        **standard(),
        places=() if verdict == OUT else ((10, 28),),
        code=code,
        led=None if verdict == OUT else 2,
    )


SITES: tuple[Site, ...] = (
    Site("plain", "Both front downspouts, 60 m2, about 8 m2 of ponding; overflow to the street.", APPROACH, (0, 0.03),
         **standard(), places=((10, 5.5),), led=2),
    Site("house at the low end", "The best ground is above the downspouts, the sides are too narrow.", OUT, (0, -0.05),
         (box(0, 0, 20, 40),), (house(4, 28, 16, 38),), code="fall"),
    Site("septic behind", "The front is above the downspouts, the back too near the field.", OUT, (0, -0.04),
         (box(0, 0, 24, 60),), (house(6, 20, 18, 30),), code="fall", layers={"septic": (box(5, 40, 19, 52),)}),
    Site("easement through", "Short of it is too narrow; beyond it there is room, and the lead needs consent.", LOOK,
         (0, -0.03), (box(0, 0, 20, 45),), (house(4, 12, 16, 22),), ((10, 35.5),), "consent", 2,
         layers={"easements": ({"geometry": box(0, 27, 20, 33), "name": "sewer easement"},)}),
    Site("twin", "The own front share, 27 m2; the share stops at the party wall.", APPROACH, (0, 0.03),
         (box(0, 0, 9, 35), box(9, 0, 18, 35)), (house(3, 10, 15, 19),), ((4.5, 4),), led=1,
         downspouts=({"geometry": Point(3, 10), "share_m2": 27.0},)),
    Site("corner lot", "Both south downspouts, the garden clear of the sight triangle; or both east ones, their "
         "leads a metre off the house.", APPROACH, (-0.03, 0.03),
         (box(0, 0, 25, 30),), (house(6, 12, 18, 22),), ((17.5, 5.5), (20.5, 7.5), (22.3, 9.5)), led=2,
         streets=CORNER_STREETS,
         layers={"avoid": ({"geometry": Polygon([(17.5, 0), (25, 0), (25, 7.5)]), "name": "sight triangle",
                            "effect": "no digging", "sentence": "Only low planting in the sight triangle."},)}),
    Site("flag lot", "Behind the house; the pole is never ground for a garden.", APPROACH, (0, -0.04), (FLAG,),
         (house(9, 50, 21, 60), house(9, 93, 21, 103)), ((15, 66),), led=2, streets=(STREET, BACK_STREET),
         layers={"paved": ({"geometry": box(0.5, 0, 4.5, 40), "kind": "drive"},)}),
    Site("narrow lot", "The widest open strip is 2.0 m; a bed of 1.2 and its two berms need 2.4.", OUT, (0, 0.02),
         (box(0, 0, 10, 30),), (house(1, 6, 9, 26),), code="no_room"),
    Site("big oak", "The front is uphill; behind only slivers are clear of the roots.", OUT, (0, -0.05), **standard(),
         code="fall", layers={"trees": ({"geometry": Point(10, 31), "trunk_m": 0.80},)}),
    Site("big crown", "The same with only a crown known: look how near the roots are.", LOOK, (0, -0.05), **standard(),
         places=((10, 27),), code="tree_crown", led=2,
         layers={"trees": ({"geometry": Point(10, 31), "crown_m": 9.6},)}),
    slope_site(11.5, APPROACH, None),
    slope_site(13, LOOK, "slope_look"),
    slope_site(16, LOOK, "slope"),
    slope_site(18, OUT, "slope"),
    Site("courtyard", "Front downspouts, 67.5 m2; the court's own water is not led.", APPROACH, (0, 0.03),
         (box(0, 0, 30, 40),), ({"geometry": COURT, "kind": "house"},), ((15, 5),), led=2,
         downspouts=corners(7, 12, 23, 28, 33.75)),
    Site("standing hollow", "On the shoulder of the bowl, never in it; soil C wants a test.", TEST, (0, -0.03),
         **standard(), places=((10, 27),), code="soil_group", led=2, group="C", ground=bowl),
    Site("overflow to the rear house", "The overflow enters the setback of the house behind.", LOOK, (0, -0.04),
         (box(0, 0, 20, 40),), (house(4, 12, 16, 22), house(4, 43, 16, 53)), ((10, 28),), "overflow", 2),
    Site("tested, mapped D", "A test at the spot of 11.8 mm/h beats the map.", APPROACH, (0, 0.03), **standard(),
         places=((10, 5.5),), led=2, group="D", tests=((10, 5.5, 11.8),)),
    Site("tested too slow", "4.1 mm/h at the only place: out.", OUT, (0, 0.03), **standard(), code="pond_drawdown",
         tests=((10, 5.5, 4.12),)),
    Site("tested too slow, wide lot", "On a wide lot the other place is worth a look.", LOOK, (0, 0.03),
         (box(0, 0, 36, 40),), (house(4, 12, 16, 22),), code="failed_test", tests=((10, 5.5, 4.12),)),
    Site("flat lot", "Fall 0.02, needed 0.14: a sunk lip, levels decide.", LOOK, (0, 0.003), **standard(),
         places=((10, 5.5),), code="fall", led=2),
    Site("already soaking", "A wide lawn takes the water today.", APPROACH, (0, 0.04), (box(0, 0, 60, 120),),
         (house(24, 60, 36, 72),)),
    Site("piped to the street", "The same roof piped to the street: more to gain.", APPROACH, (0, 0.03), **standard(),
         places=((10, 5.5),), led=2, downspouts=corners(4, 12, 16, 22, 30.0, leads_to="pipe")),
    Site("one downspout fits", "Room for 7 m2: two downspouts are too much, one is right.", APPROACH, (0, 0.04),
         (box(0, 0, 14, 28),), (house(2, 8, 12, 22),), ((3.7, 3),), led=1, downspouts=corners(2, 8, 12, 22, 35.0),
         layers={"paved": ({"geometry": box(6.5, 0, 9.5, 8), "kind": "drive"},)}),
    Site("water table in the bed", "The bed's bottom is under water; the front is uphill.", OUT, (0, -0.05),
         **standard(), code="fall",
         soils=({"geometry": DRY_FRONT}, {"geometry": WET_STRIP, "water_table_m": 0.40})),
    Site("water table near", "Clearance 0.28, the rule 0.6: test.", TEST, (0, -0.05), **standard(), places=((10, 27),),
         code="water_table", led=2,
         soils=({"geometry": DRY_FRONT}, {"geometry": WET_STRIP, "water_table_m": 0.80})),
)  # fmt: skip
