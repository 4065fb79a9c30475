"""Made-up tables for the draws: lots in a row, a few candidates each."""

import geopandas as gpd
import numpy as np
import pandas as pd
from shapely.geometry import LineString, Point, box

from screening.fields import TABLES, conform

CERTAIN = {
    "elevation_error_m": 0.0,
    "slope_error_pct": 0.0,
    "level_error_m": 0.0,
    "roof_error_pct": 0.0,
    "infiltration_spread": 1.0,
    "score_weights_firmness": 0.0,
}


def candidate(lot_id, place, x, y, **changes):
    row = {
        "lot_id": lot_id,
        "candidate": place,
        "chosen": place == 0,
        "x_m": x,
        "y_m": y,
        "long_axis_deg": 0.0,
        "aspect": 2.0,
        "room_m2": 9.0,
        "ponding_area_m2": 6.0,
        "draining_area_m2": 45.0,
        "capture_depth_mm": 38.0,
        "capture_most_mm": 60.0,
        "lead": "surface",
        "run_m": 8.0,
        "fall_m": 0.28,
        "fall_needed_m": 0.13,
        "fall_margin_m": 0.15,
        "fall_error_m": 0.06,
        "lip_m": 99.7,
        "lip_low_m": 99.7,
        "lip_high_m": 99.9,
        "ground_m": 99.7,
        "slope_pct": 4.0,
        "upslope_m2": 10.0,
        "kept_share": 0.8,
        "kept_of_lot_share": 0.5,
        "side": "front",
        "carved_m": 0.0,
        "hsg": "B",
        "hsg_source": "survey",
        "chance_b": 1.0,
        "ksat_um_s": 8.0 / 3.6,
        "ksat_source": "group",
        "ksat_spread": 2.0,
        **changes,
    }
    return row


def tables_of(rows, far_m=200.0):
    """Tables of the lots named in the candidates' rows, each lot ``far_m`` from the next."""
    ids = sorted({row["lot_id"] for row in rows})
    crs = "EPSG:32631"
    points = [Point(row["x_m"], row["y_m"]) for row in rows]
    candidates = conform(gpd.GeoDataFrame(rows, geometry=points, crs=crs), TABLES["candidates"])
    leads = gpd.GeoDataFrame(
        {
            "lot_id": [row["lot_id"] for row in rows],
            "candidate": [row["candidate"] for row in rows],
            "downspout_id": "d",
            "lead": "surface",
            "run_m": [row["run_m"] for row in rows],
            "fall_m": [row["fall_m"] for row in rows],
            "fall_needed_m": [row["fall_needed_m"] for row in rows],
        },
        geometry=[LineString([(r["x_m"], r["y_m"] + r["run_m"]), (r["x_m"], r["y_m"])]) for r in rows],
        crs=crs,
    )
    lots = gpd.GeoDataFrame(
        {
            "lot_id": ids,
            "storm_runoff_m3": 10.0,
            "slope_lot_pct": 3.5,
            "flow_direction_deg": 180.0,
            "storm_kept_m3": 1.3,
            "spot_side": "front",
        },
        geometry=[box(far_m * n, 0, far_m * n + 20, 40) for n in range(len(ids))],
        crs=crs,
    )
    reasons = conform(pd.DataFrame({"lot_id": pd.Series([], dtype=str)}), TABLES["reasons"])
    return {
        "lots": conform(lots, TABLES["lots"]),
        "candidates": candidates,
        "leads": conform(leads, TABLES["leads"]),
        "reasons": reasons,
    }


def many(count, seed=1):
    """Rows of lots of all sorts, one to eight candidates each."""
    random = np.random.default_rng(seed)
    rows = []
    for n in range(count):
        for place in range(random.integers(1, 9)):
            margin = round(float(random.normal(0.1, 0.15)), 3)
            rows.append(
                candidate(
                    f"lot {n:04d}",
                    place,
                    float(200 * n + random.uniform(0, 20)),
                    float(random.uniform(0, 30)),
                    fall_margin_m=margin,
                    fall_m=round(margin + 0.13, 3),
                    slope_pct=round(float(random.uniform(1, 16)), 1),
                    room_m2=round(float(random.uniform(6, 12)), 1),
                    kept_share=round(float(random.uniform(0, 1)), 2),
                    kept_of_lot_share=round(float(random.uniform(0, 1)), 3),
                    side=["front", "side", "back"][random.integers(3)],
                    chance_b=0.7,
                    chance_d=0.2,
                )
            )
    return rows
