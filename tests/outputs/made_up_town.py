"""Rows of every table for made-up lots, each with a story of its own."""

from __future__ import annotations

import shapely
from pyproj import CRS
from shapely.affinity import translate

from screening.fields import TABLES
from screening.fields.id_lists import ids_text

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


class Town:
    """Gathers the rows of every table, lot by lot."""

    def __init__(self) -> None:
        self.rows: dict[str, list[dict]] = {name: [] for name in TABLES}

    def add(self, name: str, **row: object) -> None:
        self.rows[name].append(row)


def add_lot(town: Town, number: int, street: str, x: float, y: float, up: bool, story: str) -> None:
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


def _garden(town: Town, lot_id: str, number: int, at, size: float, share: float, piece: str) -> dict:
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
