"""A made-up result of a run: a few streets of like lots, every table filled, nothing computed from real inputs."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from affine import Affine

from screening.area import Note
from screening.fields import TABLES, conform
from screening.ranking.score import score_lots
from screening.ranking.sentences import lot_reasons
from screening.ranking.verdict import verdicts
from screening.result import Screening
from screening.rules import Rules
from screening.sources import ArraySource
from screening.streets.catchments import catchments
from screening.streets.curve_table import curve_table
from screening.streets.inlets import inlet_totals
from tests.outputs.made_up_town import CRS_M, DEPTH, ROAD, SOUTH, STORIES, WEST, WIDTH, Town, add_lot


def frame(rows: list[dict], name: str) -> pd.DataFrame:
    columns = [field.name for field in TABLES[name] if field.name != "geometry"]
    frame = pd.DataFrame(rows, columns=[*columns, "geometry"] if rows and "geometry" in rows[0] else columns)
    has_geometry = any(field.dtype == "geometry" for field in TABLES[name])
    if has_geometry:
        frame = gpd.GeoDataFrame(
            frame, geometry="geometry" if "geometry" in frame else gpd.GeoSeries([], dtype=object), crs=CRS_M
        )
    return conform(frame, TABLES[name])


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
    return frame(rows, "streets")


def rasters(width: int, height: int) -> dict[str, ArraySource]:
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


def _add_inlets(tables: dict, grid: ArraySource, middle: float, last: float) -> gpd.GeoDataFrame:
    """Two inlets: lots west of the middle drain to I1, those east of it to I2, the last street's to none."""
    lots, spouts = tables["lots"], tables["downspouts"]
    place = lots.geometry.representative_point()
    inlet = np.where(place.y > last, None, np.where(place.x < middle, "I1", "I2"))
    lots["inlet"] = pd.array(inlet, dtype="str")
    spouts["inlet"] = spouts["lot_id"].map(dict(zip(lots["lot_id"], inlet, strict=True))).astype("str")
    rows, columns = grid.shape
    east = grid.transform.c + np.arange(columns) + 0.5
    north = grid.transform.f - np.arange(rows) - 0.5
    labels = np.where(north[:, None] > last, 0, np.where(east < middle, 1, 2)).astype(np.int32)
    walls = np.zeros(labels.shape, dtype=bool)
    tables["catchments"] = catchments(labels, walls, grid.transform, ["I1", "I2"], CRS_M)
    points = [shapely.Point(middle + aside, SOUTH + DEPTH + 2) for aside in (-20, 20)]
    inlets = gpd.GeoDataFrame({"inlet_id": ["I1", "I2"]}, geometry=points, crs=CRS_M)
    tables["inlet_totals"] = inlet_totals(lots, spouts, tables["candidates"], inlets, tables["catchments"])
    return inlets


def make_screening(streets: int = 3, lots_a_side: int = 5, unit_m: float = 1.0) -> Screening:
    """Build a result with ``streets`` x 2 x ``lots_a_side`` lots."""
    town, number, lines = Town(), 0, {}
    for row in range(streets):
        name = f"{('Alder', 'Birch', 'Cedar', 'Dogwood', 'Elder')[row % 5]} Made-up Street {row + 1}"
        y = SOUTH + row * (2 * DEPTH + 2 * ROAD)
        middle = y + DEPTH + ROAD / 2
        lines[name] = shapely.LineString([(WEST, middle), (WEST + lots_a_side * WIDTH, middle)])
        for up in (False, True):
            for column in range(lots_a_side):
                base = y if not up else y + DEPTH + ROAD
                add_lot(town, number, name, WEST + column * WIDTH, base, up, STORIES[number % len(STORIES)])
                number += 1
    rules = Rules()
    tables = {name: frame(rows, name) for name, rows in town.rows.items() if name not in ("lots", "streets")}
    lots = frame(town.rows["lots"], "lots")
    found = verdicts(lots["lot_id"], tables["reasons"])
    for column in ("verdict", "deciding_limit", "near_pass", "next_step"):
        lots[column] = found[column].to_numpy()
    lots = conform(lots, TABLES["lots"])
    lots["reasons"] = lot_reasons(lots["lot_id"], tables["reasons"]).astype("str")
    tables["lots"] = conform(score_lots(lots, rules), TABLES["lots"])
    tables["streets"] = _streets(tables["lots"], lines)
    tables["curves"] = curve_table(tables["lots"], rules)
    width, height = int(lots_a_side * WIDTH) + 40, int(streets * (2 * DEPTH + 2 * ROAD)) + 40
    ground = rasters(width, height)
    last = SOUTH + max(streets - 1, 1) * (2 * DEPTH + 2 * ROAD) - ROAD / 2
    inlets = _add_inlets(tables, ground["heights_m"], WEST + lots_a_side * WIDTH / 2, last)
    street_lines = gpd.GeoDataFrame({"street": list(lines)}, geometry=list(lines.values()), crs=CRS_M)
    return Screening(
        title="Made-up neighbourhood",
        crs=CRS_M,
        output_crs=CRS_M,
        unit_m=unit_m,
        tables=tables,
        layers={"inlets": inlets, "streets": street_lines},
        rasters=ground,
        rules=rules,
        notes=(
            Note("missing", "Trees unknown: no tree layer was given.", "trees"),
            Note("assumption", "Heights taken as metres.", "elevation"),
        ),
        record={"counts": {"lots": len(lots)}, "versions": {"screening": "0.1.0"}},
    )
