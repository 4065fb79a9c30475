"""Records beside the maps: ten years of invented rain, and the soil tests that came back from a few lots."""

from __future__ import annotations

import datetime as dt

import numpy as np

from scripts.demo_area_maker.neighbourhood import Neighbourhood
from scripts.demo_area_maker.tables import lot_ids

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


def soil_tests(area: Neighbourhood) -> list[str]:
    """Lines of the field file: a hole filled twice, and how long each filling took to drain."""
    rng = np.random.default_rng([area.seed, 31])
    ids = lot_ids(area)
    chosen = [i for i, b in zip(ids, area.built, strict=True) if b.corners]
    picked = [chosen[k] for k in rng.choice(len(chosen), 9, replace=False)]
    lines = ["lot_id,date,hole_depth_m,hole_width_m,fill_1_h,fill_2_h,rain_48h_mm"]
    for number, lot_id in enumerate(sorted(picked)):
        first = float(rng.choice([3.5, 6.0, 9.0, 14.0, 19.0, 26.0]))
        second = round(first * rng.uniform(1.3, 1.9), 1)
        day = dt.date(2025, 4, 7) + dt.timedelta(days=number)
        lines.append(f"{lot_id},{day.isoformat()},0.6,0.3,{first},{second},{rng.choice([0, 0, 4])}")
    return lines
