"""Records beside the maps: ten years of invented rain, and what came back from a few lots."""

from __future__ import annotations

import datetime as dt

import numpy as np
from shapely.geometry import Point

from scripts.demo_area_maker.lot import Built, Lot
from scripts.demo_area_maker.neighbourhood import Neighbourhood
from scripts.demo_area_maker.soil_map import soil_polygons
from scripts.demo_area_maker.tables import EAST_M, NORTH_M, lot_ids

FIRST_DAY, DAYS = dt.date(2015, 1, 1), 3653
WET_AFTER_WET, WET_AFTER_DRY = 0.46, 0.23


def daily_rain(seed: int) -> list[str]:
    """Lines of the rain record: a two-state chain of wet and dry days, gamma depths, more in summer."""
    rng = np.random.default_rng([seed, 30])
    lines = ["date,rain_mm"]
    wet = False
    for day in range(DAYS):
        date = FIRST_DAY + dt.timedelta(days=day)
        season = 1.0 + 0.25 * np.sin(2 * np.pi * (date.timetuple().tm_yday - 100) / 365.25)
        wet = bool(rng.random() < (WET_AFTER_WET if wet else WET_AFTER_DRY))
        depth = max(0.1, float(rng.gamma(0.62, 14.5 * season))) if wet else 0.0
        missing = rng.random() < 0.003
        lines.append(f"{date.isoformat()},{'' if missing else f'{depth:.1f}'}")
    return lines


FIELD_COLUMNS = "lot,what,date,units,x,y,owner,basement,hole_depth,hole_width,fill_1_h,fill_2_h,rain_48h"
DRAIN_HOURS = {"2A": 2.5, "5A": 8.0, "5C": 9.0, "8B": 22.0, "11B": 46.0, "31": 15.0}
"""Hours for a wet test hole to drain, by map unit."""
TESTS = {"2A": 1, "5A": 2, "5C": 2, "8B": 2, "11B": 1, "31": 1}
"""How many tests on which map unit."""


def tested_lots(area: Neighbourhood, rng: np.random.Generator) -> list[tuple[int, Point, str]]:
    """Lots with a test hole: the lot's number, the place behind the house, the map unit there."""
    soils = soil_polygons(area.frame)
    places: dict[str, list[tuple[int, Point, str]]] = {symbol: [] for symbol in TESTS}
    for i, (lot, built) in enumerate(zip(area.lots, area.built, strict=True)):
        if built.corners and room(lot, built) > 0.0:
            place = Point(lot.point(lot.width_m / 2, lot.depth_m - room(lot, built) / 2))
            symbol = next(symbol for symbol, shape in soils if shape.contains(place))
            places.get(symbol, []).append((i, place, symbol))
    chosen = [places[s][k] for s, count in TESTS.items() for k in rng.choice(len(places[s]), count, replace=False)]
    return sorted(chosen, key=lambda item: item[0])


def field_rows(area: Neighbourhood) -> list[str]:
    """Lines of the field file: calls that were answered, then a hole filled twice behind each house."""
    rng = np.random.default_rng([area.seed, 31])
    ids = lot_ids(area)
    lines = [FIELD_COLUMNS]
    for number, (i, place, symbol) in enumerate(tested_lots(area, rng)):
        second = DRAIN_HOURS[symbol] * float(np.exp(rng.normal(0.0, 0.35)))
        first = second / rng.uniform(1.3, 1.9)
        call = dt.date(2025, 3, 24) + dt.timedelta(days=number)
        basement = "yes" if area.built[i].basement else "no"
        east, north = place.x + EAST_M, place.y + NORTH_M
        lines += [
            f"{ids[i]},call,{call.isoformat()},,,,yes,{basement},,,,,",
            f"{ids[i]},test,{(call + dt.timedelta(days=16)).isoformat()},metric,{east:.1f},{north:.1f},,,60,30,"
            f"{first:.1f},{second:.1f},{rng.choice([0, 0, 4])}",
        ]
    return lines


def room(lot: Lot, built: Built) -> float:
    """Depth of the yard behind a house [m]; 0 where there is too little for a test hole well off the wall."""
    back = float(((np.array(built.corners) - lot.left) @ lot.inward).max())
    return lot.depth_m - back if lot.depth_m - back > 10.0 else 0.0
