"""A made-up result of a run: a few streets of like lots, every table filled, nothing computed from real inputs."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from affine import Affine
from pyproj import CRS
from shapely.affinity import translate

from screening.area import Note
from screening.fields import TABLES, conform
from screening.fields.id_lists import ids_text
from screening.ranking.score import score_lots
from screening.ranking.sentences import lot_reasons
from screening.ranking.verdict import verdicts
from screening.result import Screening
from screening.rules import Rules
from screening.sources import ArraySource
from screening.streets.curve_table import curve_table
from screening.streets.inlets import inlet_totals

CRS_M = CRS.from_epsg(32626)
WEST, SOUTH = 500_000.0, 4_983_000.0  # open ocean
WIDTH, DEPTH, ROAD = 20.0, 40.0, 12.0

STORIES = ("plain", "soil", "fall", "slope", "out", "plain", "near", "crown")
"""What befalls the lots, in turn."""

REASONS = {
    "plain": [
        ("downspouts_placed", "note", 4, 4, "", None, False),
        ("trees_unknown", "note", None, None, "", None, False),
    ],
    "soil": [("soil_group", "test soil", None, None, "", "C", False), ("soil_line", "note", None, 20, "m", "B", False)],
    "fall": [("fall", "look closer", 0.06, 0.14, "m", "Levels decide.", False)],
    "slope": [("slope_look", "look closer", 12.6, 12, "%", None, False)],
    "out": [
        ("no_room", "rules out", 1.8, 3, "m2", "The side yards are too narrow.", False),
        ("slope", "rules out", 18, 15, "%", None, True),
    ],
    "near": [("slope", "rules out", 15.9, 15, "%", None, True)],
    "crown": [("tree_crown", "look closer", None, None, "", "crown of 5 m", False)],
}


def _frame(rows: list[dict], name: str) -> pd.DataFrame:
    columns = [field.name for field in TABLES[name] if field.name != "geometry"]
    frame = pd.DataFrame(rows, columns=[*columns, "geometry"] if rows and "geometry" in rows[0] else columns)
    has_geometry = any(field.dtype == "geometry" for field in TABLES[name])
    if has_geometry:
        frame = gpd.GeoDataFrame(
            frame, geometry="geometry" if "geometry" in frame else gpd.GeoSeries([], dtype=object), crs=CRS_M
        )
    return conform(frame, TABLES[name])


class _Town:
    """Gathers the rows of every table, lot by lot."""

    def __init__(self) -> None:
        self.rows: dict[str, list[dict]] = {name: [] for name in TABLES}

    def add(self, name: str, **row: object) -> None:
        self.rows[name].append(row)


def _lot(town: _Town, number: int, street: str, x: float, y: float, up: bool, story: str) -> None:
    """One lot with its street at y (up) or at y + DEPTH."""
    lot_id = f"L{number:05d}"
    front = y if up else y + DEPTH
    away = 1.0 if up else -1.0

    def at(east: float, north: float) -> tuple[float, float]:
        return x + east, front + away * north

    def box(x0: float, y0: float, x1: float, y1: float) -> shapely.Polygon:
        (a, b), (c, d) = at(x0, y0), at(x1, y1)
        return shapely.box(min(a, c), min(b, d), max(a, c), max(b, d))

    size = 1.0 + 0.05 * (number % 7)
    land, roof = box(0, 0, WIDTH, DEPTH), box(4, 12, 16, 12 + 10 * size)
    piece, share = f"R{number:05d}/1", 30.0 * size
    town.add(
        "roof_pieces",
        piece_id=piece,
        roof_id=f"R{number:05d}",
        lot_id=lot_id,
        kind="house",
        kind_basis="given",
        roof_kind="hip",
        area_m2=120 * size,
        shared=True,
        method="skeleton",
        geometry=roof,
    )
    corners = [(4, 12), (16, 12), (16, 12 + 10 * size), (4, 12 + 10 * size)]
    quarters = [
        box(4, 12, 10, 12 + 5 * size),
        box(10, 12, 16, 12 + 5 * size),
        box(10, 12 + 5 * size, 16, 12 + 10 * size),
        box(4, 12 + 5 * size, 10, 12 + 10 * size),
    ]
    for letter, corner, quarter in zip("abcd", corners, quarters, strict=True):
        spout = f"{piece}/{letter}"
        town.add("roof_shares", lot_id=lot_id, piece_id=piece, downspout_id=spout, area_m2=share, geometry=quarter)
        town.add(
            "downspouts",
            downspout_id=spout,
            lot_id=lot_id,
            piece_id=piece,
            placed=number % 5 != 0,
            share_m2=share,
            share_low_m2=share * 0.8,
            share_high_m2=share * 1.2,
            worth_leading=True,
            reach_share=0.6,
            reach_basis="traced",
            ground_m=100.0,
            geometry=shapely.Point(at(*corner)),
        )
    open_ground = box(1.5, 1, WIDTH - 1.5, 9).union(box(1.5, 26, WIDTH - 1.5, DEPTH - 1.5))
    town.add("open_ground", lot_id=lot_id, area_m2=open_ground.area, geometry=open_ground)
    town.add("taken", lot_id=lot_id, constraint="house", area_m2=310, alone_m2=220)
    town.add("taken", lot_id=lot_id, constraint="side line", area_m2=150, alone_m2=48)
    town.add("soil_lots", lot_id=lot_id, hsg="C" if story == "soil" else "B", share=0.8, area_m2=330, source="survey")
    town.add("soil_lots", lot_id=lot_id, hsg="B/D", share=0.2, area_m2=82, source="survey")
    for code, severity, measured, limit, unit, detail, near in REASONS[story]:
        town.add(
            "reasons",
            lot_id=lot_id,
            code=code,
            severity=severity,
            measured=measured,
            limit=limit,
            unit=unit,
            detail=detail,
            near=near,
        )
    lot = {
        "lot_id": lot_id,
        "street": street,
        "address": f"{number} {street}",
        "zone": "north" if up else "south",
        "place": lot_id,
        "lot_area_m2": 800.0,
        "roof_area_m2": 120 * size,
        "paved_area_m2": 40.0,
        "open_ground_m2": open_ground.area,
        "downspouts": 4,
        "downspouts_placed": 4 if number % 5 else 0,
        "drain_reach_share": 0.6,
        "drain_reach_basis": "traced",
        "hsg": "C" if story == "soil" else "B",
        "hsg_share": 0.8,
        "slope_lot_pct": 4.2,
        "flow_direction_deg": 180,
        "assessed_share": 1.0,
        "storm_runoff_m3": 4.3 * size,
        "storm_captured_m3": 0.0,
        "storm_kept_m3": 0.0,
        "geometry": land,
    }
    if story not in ("out", "near"):
        lot |= _garden(town, lot_id, number, at, size, share, piece)
    town.rows["lots"].append(lot)


def _garden(town: _Town, lot_id: str, number: int, at, size: float, share: float, piece: str) -> dict:
    """The candidates, leads and overflow of a lot, and the lot's columns about its spot."""
    ellipse = shapely.affinity.scale(shapely.Point(0, 0).buffer(1.0, 16), 2.26 * size, 1.13 * size)
    for candidate, centre in enumerate([(10, 5.5), (10, 31)]):
        town.add(
            "candidates",
            lot_id=lot_id,
            candidate=candidate,
            chosen=candidate == 0,
            x_m=at(*centre)[0],
            y_m=at(*centre)[1],
            room_m2=12,
            needed_m2=8.0,
            ponding_area_m2=8.0 * size,
            footprint_m2=15.0,
            downspout_ids=ids_text([f"{piece}/a", f"{piece}/b"]),
            draining_area_m2=2 * share,
            capture_depth_mm=38.0,
            eligible=True,
            lead="surface",
            run_m=9.2,
            fall_m=0.2,
            fall_needed_m=0.14,
            slope_pct=3.0 + number % 4,
            side="front" if candidate == 0 else "back",
            overflow_to="street",
            hsg="B",
            hsg_source="survey",
            class_code=0,
            aspect=2.0,
            lip_m=100.02,
            ground_m=100.0,
            berm_m=0.12,
            cut_m=0.05,
            geometry=translate(ellipse, *at(*centre)),
        )
    for letter, corner in (("a", (4, 12)), ("b", (16, 12))):
        town.add(
            "leads",
            lot_id=lot_id,
            candidate=0,
            downspout_id=f"{piece}/{letter}",
            lead="surface",
            run_m=9.2,
            fall_m=0.2,
            fall_needed_m=0.14,
            geometry=shapely.LineString([at(*corner), at(10, 5.5)]),
        )
    town.add(
        "overflow_paths",
        lot_id=lot_id,
        candidate=0,
        overflow_to="street",
        length_m=5.0,
        geometry=shapely.LineString([at(10, 4.4), at(11, 2), at(11.5, -2)]),
    )
    kept = (2 + number % 9 / 3) * size
    return {
        "hsg_spot": "B",
        "hsg_source": "survey",
        "ksat_spot_um_s": 2.22 + number % 3,
        "ksat_source": "group",
        "slope_spot_pct": 3.0 + number % 4,
        "spot_side": "front",
        "ponding_area_m2": 8.0 * size,
        "room_m2": 12.0,
        "footprint_m2": 15.0,
        "draining_area_m2": 2 * share,
        "capture_depth_mm": 38.0,
        "eligible": True,
        "lead": "surface",
        "fall_m": 0.2,
        "fall_needed_m": 0.14,
        "run_m": 9.2,
        "storm_captured_m3": kept,
        "storm_kept_m3": kept * 0.6,
        "overflow_to": "street",
    }


def _streets(lots: gpd.GeoDataFrame, lines: dict[str, shapely.LineString]) -> pd.DataFrame:
    rows = []
    for name, line in lines.items():
        own = lots[lots["street"] == name]
        by = own["verdict"].value_counts()
        total = {
            k: float(own[k].sum()) for k in ("roof_area_m2", "storm_runoff_m3", "storm_captured_m3", "storm_kept_m3")
        }
        rows.append(
            {
                "street": name,
                "lots": len(own),
                "feasible": int((own["verdict"] != "ruled out").sum()),
                "approach": int(by.get("approach", 0)),
                "test_soil_first": int(by.get("test soil first", 0)),
                "look_closer": int(by.get("look closer", 0)),
                "ruled_out": int(by.get("ruled out", 0)),
                **total,
                "storm_kept_share": total["storm_kept_m3"] / max(total["storm_runoff_m3"], 1e-9),
                "gardens_for_share": 3,
                "geometry": line,
            }
        )
    return _frame(rows, "streets")


def _rasters(width: int, height: int) -> dict[str, ArraySource]:
    transform = Affine(1, 0, WEST - 20, 0, -1, SOUTH - 20 + height)
    rows, columns = np.mgrid[0:height, 0:width]
    heights = 100 + 0.03 * (height - rows) + 0.8 * np.sin(columns / 25.0) + 0.5 * np.cos(rows / 31.0)
    heights[:6, :9] = np.nan
    slope = 3 + 9 * np.abs(np.sin(columns / 40.0) * np.cos(rows / 55.0)) * 2
    accumulation = np.ones((height, width), dtype=np.int64)
    direction = np.full((height, width), 4, dtype=np.uint8)
    valley = width // 3
    accumulation[:, valley] = np.arange(1, height + 1) * 40
    direction[:, :valley] = 1
    direction[:, valley + 1 :] = 16
    direction[-1, :] = 0
    hollow = np.zeros((height, width), dtype=np.float32)
    hollow[30:38, 40:52] = 0.25
    arrays = {
        "heights_m": heights.astype(np.float32),
        "slope_pct": slope.astype(np.float32),
        "flow_direction": direction,
        "accumulation_cells": accumulation,
        "hollow_depth_m": hollow,
        "carved_m": np.zeros_like(hollow),
    }
    return {name: ArraySource(values, transform, CRS_M) for name, values in arrays.items()}


def make_screening(streets: int = 3, lots_a_side: int = 5, unit_m: float = 1.0) -> Screening:
    """Build a result with ``streets`` x 2 x ``lots_a_side`` lots."""
    town, number, lines = _Town(), 0, {}
    for row in range(streets):
        name = f"{('Alder', 'Birch', 'Cedar', 'Dogwood', 'Elder')[row % 5]} Made-up Street {row + 1}"
        y = SOUTH + row * (2 * DEPTH + 2 * ROAD)
        middle = y + DEPTH + ROAD / 2
        lines[name] = shapely.LineString([(WEST, middle), (WEST + lots_a_side * WIDTH, middle)])
        for up in (False, True):
            for column in range(lots_a_side):
                base = y if not up else y + DEPTH + ROAD
                _lot(town, number, name, WEST + column * WIDTH, base, up, STORIES[number % len(STORIES)])
                number += 1
    rules = Rules()
    tables = {name: _frame(rows, name) for name, rows in town.rows.items() if name not in ("lots", "streets")}
    lots = _frame(town.rows["lots"], "lots")
    found = verdicts(lots["lot_id"], tables["reasons"])
    for column in ("verdict", "deciding_limit", "near_pass", "next_step"):
        lots[column] = found[column].to_numpy()
    lots = conform(lots, TABLES["lots"])
    lots["reasons"] = lot_reasons(lots["lot_id"], tables["reasons"]).astype("str")
    tables["lots"] = conform(score_lots(lots, rules), TABLES["lots"])
    tables["streets"] = _streets(tables["lots"], lines)
    tables["curves"] = curve_table(tables["lots"], rules)
    inlets = gpd.GeoDataFrame({"inlet_id": ["I1"]}, geometry=[shapely.Point(WEST + 30, SOUTH + DEPTH + 2)], crs=CRS_M)
    tables["inlet_totals"] = inlet_totals(tables["lots"], tables["downspouts"], tables["candidates"], inlets)
    width, height = int(lots_a_side * WIDTH) + 40, int(streets * (2 * DEPTH + 2 * ROAD)) + 40
    street_lines = gpd.GeoDataFrame({"street": list(lines)}, geometry=list(lines.values()), crs=CRS_M)
    return Screening(
        title="Made-up neighbourhood",
        crs=CRS_M,
        output_crs=CRS_M,
        unit_m=unit_m,
        tables=tables,
        layers={"inlets": inlets, "streets": street_lines},
        rasters=_rasters(width, height),
        rules=rules,
        notes=(
            Note("missing", "Trees unknown: no tree layer was given.", "trees"),
            Note("assumption", "Heights taken as metres.", "elevation"),
        ),
        record={"counts": {"lots": len(lots)}, "versions": {"screening": "0.1.0"}},
    )
