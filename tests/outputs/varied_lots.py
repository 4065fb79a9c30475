"""Lots of every kind with up to eight candidates each, drawn at random and judged by the run's own functions."""

from __future__ import annotations

import numpy as np
import pandas as pd
import shapely
from affine import Affine

from screening.fields import TABLES, conform
from screening.fields.id_lists import ids_text
from screening.lot_rules import own_words, rules_of
from screening.ranking.changed_rules import rejudged
from screening.result import Screening
from screening.rules import Rules
from screening.siting.resized import needed_m2_per_mm_m2
from screening.sources import ArraySource
from screening.streets.totals import street_totals
from screening.water.run_on import lawn_curve_number, storm_run_on
from tests.outputs.made_up import frame, rasters
from tests.outputs.made_up_town import CRS_M, SOUTH, WEST

OWN_RULES = {
    "V000007": {"capture_depth_mm": 50.0, "capture_depth_least_mm": 25.0},
    "V000020": {"slope_limit_pct": 6.0, "slope_look_pct": 5.0},
    "V000033": {"ponding_depth_mm": 100.0, "cut_most_m": 0.3},
}
SIDES = ("front", "side", "back")


def _candidate(rng: np.random.Generator, rules: Rules, lot: str, number: int, at: tuple[float, float]) -> dict:
    area, room = rng.uniform(20, 90), rng.uniform(3.5, 28)
    needed = needed_m2_per_mm_m2(rules) * rules.capture_depth_mm * area
    size = min(max(needed, 3.0), room)
    drop, ground = rng.uniform(0, 0.3), 100 + rng.normal(0, 0.2)
    low = max(ground - drop, ground + drop - rules.cut_most_m)
    top = low + rng.choice([rng.normal(0.2, 0.1), rng.normal(0.0, 0.06), rng.normal(-0.3, 0.1)], p=[0.6, 0.25, 0.15])
    high = max(ground - drop + rules.berm_height_most_m - rules.berm_freeboard_mm / 1000, low)
    lip, needed_m = min(max(min(ground, top), low), high), rng.uniform(0.06, 0.3)
    chances = rng.dirichlet([2, 4, 1, 0.5])
    held = size / (needed_m2_per_mm_m2(rules) * area)
    return {
        "lot_id": lot, "candidate": number, "x_m": at[0], "y_m": at[1], "aspect": rng.choice([1.0, 1.5, 2.0, 3.0]),
        "room_m2": room, "needed_m2": needed, "ponding_area_m2": size, "footprint_m2": size + 8.0,
        "downspout_ids": "made up", "draining_area_m2": area, "capture_depth_mm": held,
        "capture_most_mm": room / (needed_m2_per_mm_m2(rules) * area * rng.uniform(0.5, 1)),
        "eligible": held >= rules.capture_depth_least_mm, "lead": rng.choice(["surface", "shallow", "buried"]),
        "run_m": rng.uniform(3, 20), "fall_m": top + needed_m - lip, "fall_needed_m": needed_m,
        "fall_margin_m": top - low, "fall_error_m": rng.uniform(0.02, 0.12), "lip_m": lip, "lip_low_m": low,
        "lip_high_m": high, "ground_m": ground, "drop_m": drop, "berm_m": 0.1, "cut_m": 0.1,
        "slope_pct": rng.gamma(2.0, 3.5), "upslope_m2": rng.choice([20.0, 800.0], p=[0.95, 0.05]),
        "kept_share": rng.uniform(0.1, 1), "kept_of_lot_share": rng.uniform(0.1, 1), "side": rng.choice(SIDES),
        "overflow_to": "street", "overflow_threatens": rng.choice([None, "R1"], p=[0.93, 0.07]),
        "crosses_easement": rng.random() < 0.05, "under_crown": rng.random() < 0.05,
        "look_at": rng.choice([None, "A made-up flood zone: ask."], p=[0.95, 0.05]), "carved_m": 0.0,
        "hsg": rng.choice(["A", "B", "C", "B/D", "unknown"], p=[0.2, 0.55, 0.1, 0.1, 0.05]), "hsg_source": "survey",
        "near_groups": rng.choice(["", "B, D"], p=[0.9, 0.1]),
        **{f"chance_{group}": chance for group, chance in zip("abcd", chances, strict=True)},
        "ksat_um_s": rng.uniform(0.2, 6), "ksat_source": rng.choice(["survey", "group", "test"]), "ksat_spread": 2.0,
        "water_table_m": rng.choice([np.nan, rng.uniform(0.3, 2)], p=[0.7, 0.3]),
        "bedrock_m": rng.choice([np.nan, rng.uniform(0.3, 2)], p=[0.9, 0.1]), "class_code": 0,
        "geometry": shapely.Point(at).buffer(float(np.sqrt(size / np.pi)), 8),
    }  # fmt: skip


def _lot(lot: str, number: int, street: str | None, land: shapely.Polygon) -> dict:
    return {
        "lot_id": lot, "street": street, "address": f"{number} Made-up Row", "zone": "north" if number % 2 else "south",
        "place": lot, "lot_area_m2": land.area, "roof_area_m2": 150.0, "open_ground_m2": 300.0, "downspouts": 4,
        "downspouts_placed": 4, "drain_reach_share": 0.5, "drain_reach_basis": "traced", "hsg": "B", "hsg_share": 1.0,
        "assessed_share": 1.0, "own_rules": own_words(OWN_RULES[lot]) if lot in OWN_RULES else None,
        "storm_runoff_m3": 2.4 + 0.37 * (number % 9), "year_kept_m3": 20.0 + number,
        "chance_feasible": 0.5 + number % 50 / 100, "chance_in_first": number % 100 / 100,
        "contact_status": "built" if number % 37 == 5 else None, "geometry": land,
    }  # fmt: skip


def varied_screening(lots: int = 96, *, seed: int = 11, rules: Rules | None = None) -> Screening:
    """A result of ``lots`` lots on five streets and on none."""
    rng, rules = np.random.default_rng(seed), rules or Rules()
    rows: dict[str, list[dict]] = {name: [] for name in TABLES}
    across = int(np.ceil(np.sqrt(lots)))
    for number in range(lots):
        lot = f"V{number:06d}"
        x, y = WEST + 20.0 * (number % across), SOUTH + 40.0 * (number // across)
        street = None if number % 17 == 3 else f"Made-up Street {number % 5}"
        rows["lots"].append(_lot(lot, number, street, shapely.box(x, y, x + 20, y + 40)))
        many = int(rng.integers(0, 9))
        for place in range(many):
            at = (x + rng.uniform(4, 16), y + rng.uniform(4, 36))
            rows["candidates"].append(_candidate(rng, rules_of(lot, rules, OWN_RULES), lot, place, at))
        told = [("downspouts_placed", "note", 4, 4, None, False)]
        if not many:
            told.append(("no_room", "rules out", 1.8, 3, "Narrow.", bool(number % 2)))
        if rng.random() < 0.08:
            told.append(("partly_assessed", "look closer", 0.7, 0.9, None, False))
        if many and rng.random() < 0.1:
            told.append(("chance", "look closer", 0.4, 0.5, None, False))
        names = ("code", "severity", "measured", "limit", "detail", "near")
        rows["reasons"] += [{"lot_id": lot, **dict(zip(names, row, strict=True))} for row in told]
        rows["soil_lots"].append({"lot_id": lot, "hsg": "B", "share": 1.0, "area_m2": 300.0, "source": "survey"})
        rows["taken"].append({"lot_id": lot, "constraint": "house", "area_m2": 300.25, "alone_m2": 200.0})
        rows["taken"].append({"lot_id": lot, "constraint": "paving", "area_m2": 48.5, "alone_m2": 20.0})
    tables = {name: frame(found, name) for name, found in rows.items() if name != "streets"}
    tables["lots"]["near_pass"] = False
    if rules.gardens_most > 1:
        led = [ids_text([f"d{place % 3}"]) for place in tables["candidates"]["candidate"].tolist()]
        tables["candidates"] = tables["candidates"].assign(downspout_ids=pd.array(led, dtype="str"))
    if rules.run_on:
        tables["candidates"] = _with_run_on(tables["candidates"], rules, seed)
    judged = rejudged(tables, rules, rules, OWN_RULES)
    judged = {**judged, "streets": street_totals(judged["lots"], None, rules)}
    width, height = across * 20 + 40, (lots // across + 1) * 40 + 40
    return Screening(
        title="Varied made-up lots", crs=CRS_M, output_crs=CRS_M, unit_m=1.0, tables=judged, layers={},
        rasters=rasters(width, height) if lots < 10000 else _coarse(width, height), rules=rules,
        own_rules=OWN_RULES, record={"counts": {"lots": lots}},
    )  # fmt: skip


def _with_run_on(candidates, rules: Rules, seed: int):
    """The candidates with lawn that runs on to most of them, and one in ten where it is not known."""
    rng = np.random.default_rng(seed + 1)
    area = rng.choice([0.0, 1.0, 1.0, 1.0, np.nan], len(candidates), p=[0.2, 0.3, 0.2, 0.2, 0.1])
    area = np.round(area * rng.uniform(5.0, 400.0, len(candidates)))
    number = lawn_curve_number(candidates["hsg"], rules)
    told = {"run_on_m2": area, "run_on_curve_number": number, "run_on_m3": storm_run_on(area, number, rules)}
    return conform(candidates.assign(**told), TABLES["candidates"])


def _coarse(width: int, height: int) -> dict[str, ArraySource]:
    """Heights of a large area in few cells."""
    fine = rasters(200, 200)["heights_m"]
    return {"heights_m": ArraySource(fine.values, fine.transform * Affine.scale(width / 200, height / 200), CRS_M)}
