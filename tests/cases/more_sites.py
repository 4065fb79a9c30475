"""More made-up lots of the same kind, each about one thing that the others leave out."""

from __future__ import annotations

from typing import Any

import numpy as np
from shapely import LineString, Point, box

from tests.cases.sites import APPROACH, EVERYWHERE, LOOK, OUT, TEST, Site, house, standard

FAR = box(5000, 5000, 6000, 6000)
NORTH_B = box(-200, -5, 300, 300)
SOUTH_D = box(-200, -200, 300, -5)


def bank(x: Any, y: Any) -> Any:
    """Ground that drops 2.4 m between y = 30 and 38."""
    return -0.30 * np.clip(y - 30.0, 0.0, 8.0) + 0.0 * x


MORE_SITES: tuple[Site, ...] = (
    Site("all soaks away", "300 m of grass take the water of every downspout: both front ones are led all the same.",
         APPROACH, (0, 0.03), (box(0, 0, 24, 330),), (house(6, 300, 18, 310),), ((12, 293.5),), led=2),
    Site("walk across the front", "A shallow pipe under the walk; fall enough for it.", APPROACH, (0, 0.04),
         **standard(), places=((10, 5.5),), led=2,
         layers={"paved": ({"geometry": box(0, 8.5, 20, 9.5), "kind": "walk"},)}),
    Site("main along the front", "The lawn beyond the main has room, the lead needs consent.", LOOK, (0, 0.03),
         **standard(), places=((10, 2.8),), code="consent", led=2,
         layers={"buried": ({"geometry": LineString([(-20, 6), (40, 6)]), "kind": "main"},)}),
    Site("well in front", "The well keeps the whole front clear, the back is uphill.", OUT, (0, 0.03), **standard(),
         code="fall", layers={"wells": ({"geometry": Point(10, -2)},)}),
    Site("cottage", "No downspout takes 15 m2 of roof.", OUT, (0, 0.03), (box(0, 0, 20, 40),), (house(8, 14, 12, 19),),
         code="no_roof"),
    Site("behind the parking", "The only lawn lies beyond the longest lead.", OUT, (0, 0.03), (box(0, 0, 20, 60),),
         (house(4, 49, 16, 59),), code="no_reach",
         layers={"paved": ({"geometry": box(0, 14, 20, 48), "kind": "drive"},)}),
    Site("one pipe for a large roof", "216 m2 on one downspout are too much for one garden.", OUT, (0, 0.03),
         (box(0, 0, 20, 45),), (house(4, 12, 16, 30),), code="draining_area",
         downspouts=({"geometry": Point(4, 12), "share_m2": 216.0},)),
    Site("shallow front", "A slim garden, three times as long as wide, holds one downspout.", APPROACH, (0, 0.03),
         (box(0, 0, 24, 24),), (house(4, 7.2, 20, 20),), ((6.5, 2.6), (17.5, 2.6)), led=1, tolerance_m=3.0),
    Site("soil line in the street", "Group D begins 10 m from the spot: the map's line is no better.", TEST, (0, 0.03),
         **standard(), places=((10, 5.5),), code="soil_line", led=2,
         soils=({"geometry": NORTH_B, "hsg": "B"}, {"geometry": SOUTH_D, "hsg": "D"})),
    Site("off the soil map", "Nobody knows the soil: test it.", TEST, (0, 0.03), **standard(), places=((10, 5.5),),
         code="soil_unknown", led=2, soils=({"geometry": FAR},)),
    Site("shallow rock", "Rock at 0.9 m leaves 0.4 m under the bed, the rule says 0.6: test.", TEST, (0, 0.03),
         **standard(), places=((10, 5.5),), code="bedrock", led=2,
         soils=({"geometry": EVERYWHERE, "bedrock_m": 0.9},)),
    Site("shed on the way", "Leads run past the shed, not through it.", APPROACH,
         (0, 0.03), (box(0, 0, 20, 40),), (house(4, 12, 16, 22), {"geometry": box(5.5, 7, 8.5, 10), "kind": "shed"}),
         ((6.5, 4),), led=2),
    Site("bank behind", "The bank keeps the whole back clear, the front is uphill.", OUT, (0, -0.02), **standard(),
         code="fall", ground=bank),
    Site("gentle fall", "A fall of 1.2% is a few centimetres short: levels decide.", LOOK, (0, 0.012), **standard(),
         places=((10, 5.5),), code="fall", led=2),
)  # fmt: skip
