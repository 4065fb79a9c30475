"""The neighbourhood as the tables that an office would have on file: ids, addresses, flags."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely.geometry import Point

from scripts.demo_area_maker import drains, soil_map
from scripts.demo_area_maker.neighbourhood import Neighbourhood

CRS = "EPSG:32606"
EAST_M, NORTH_M = 348000.0, 4652000.0
"""Where the middle is put: open ocean, far from any land."""


def placed(shapes: list[object]) -> gpd.GeoSeries:
    """Shapes in map coordinates, rounded to the millimetre."""
    moved = shapely.transform(np.array(shapes, dtype=object), lambda p: np.round(p + np.array([EAST_M, NORTH_M]), 3))
    return gpd.GeoSeries(moved, crs=CRS)


def table(rows: dict[str, object], shapes: list[object]) -> gpd.GeoDataFrame:
    """A table with its geometry."""
    return gpd.GeoDataFrame(rows, geometry=placed(shapes).to_numpy(), crs=CRS)


def lot_ids(area: Neighbourhood) -> list[str]:
    """Block and number, with leading zeros as such ids have them."""
    count: dict[int, int] = {}
    ids = []
    for lot in area.lots:
        count[lot.plan.block] = count.get(lot.plan.block, 0) + 1
        ids.append(f"{lot.plan.block:02d}-{count[lot.plan.block]:03d}")
    return ids


def addresses(area: Neighbourhood) -> list[str]:
    """House numbers, even on the right-hand side of the street, rising along it."""
    lines = dict(area.streets)
    taken: set[str] = set()
    out = []
    for lot in area.lots:
        line = lines[lot.plan.street]
        middle = Point(lot.point(lot.width_m / 2, 0.0))
        along = line.project(middle)
        ahead = np.array(line.interpolate(along + 0.5).coords[0]) - np.array(line.interpolate(along - 0.5).coords[0])
        aside = np.array(middle.coords[0]) - np.array(line.interpolate(along).coords[0])
        right = ahead[0] * aside[1] - ahead[1] * aside[0] < 0
        number = 2 * int(along / 8.0) + (2 if right else 1)
        while f"{number} {lot.plan.street}" in taken:
            number += 2
        taken.add(f"{number} {lot.plan.street}")
        out.append(f"{number} {lot.plan.street}")
    return out


LAND_USE = {"park": "park", "twin": "twin house"}


def lots(area: Neighbourhood) -> gpd.GeoDataFrame:
    """The lots."""
    rng = np.random.default_rng([area.seed, 20])
    v_middle = [float(shapely.get_coordinates(lot.plan.shape)[:, 1].mean()) for lot in area.lots]
    has_house = [bool(b.roofs) or lot.plan.kind == "twin" for lot, b in zip(area.lots, area.built, strict=True)]
    owner = pd.array(rng.random(len(area.lots)) < 0.72, dtype="boolean")
    owner[rng.random(len(area.lots)) < 0.06] = pd.NA
    parks = np.array([lot.plan.kind == "park" for lot in area.lots])
    owner[parks] = False
    uses = [
        LAND_USE.get(lot.plan.kind, "house" if h else "vacant") for lot, h in zip(area.lots, has_house, strict=True)
    ]
    rows = {
        "parcel_id": lot_ids(area),
        "street": [lot.plan.street for lot in area.lots],
        "address": addresses(area),
        "zone": ["South bank" if v < 290 else ("Hillside" if v < 530 else "Ridge") for v in v_middle],
        "land_use": uses,
        "owner_occ": owner,
        "hoa": pd.array([lot.plan.street == "Overflow Court" for lot in area.lots], dtype="boolean"),
    }
    return table(rows, [lot.shape for lot in area.lots])


def roofs(area: Neighbourhood) -> gpd.GeoDataFrame:
    """Roof outlines, with the basement where somebody recorded it."""
    rng = np.random.default_rng([area.seed, 21])
    kinds = [kind for kind, _, _ in area.roofs]
    forms = rng.choice(["hip", "gable"], len(kinds), p=[0.6, 0.4])
    known = rng.random(len(kinds))
    basement = [
        None if b is None or k < 0.25 else ("yes" if b else "no")
        for (_, _, b), k in zip(area.roofs, known, strict=True)
    ]
    heights = {"house": (4.8, 7.8), "garage": (3.0, 3.9), "shed": (2.2, 2.8)}
    rows = {
        "roof_id": [f"R{i:04d}" for i in range(1, len(kinds) + 1)],
        "kind": kinds,
        "form": [form if k < 0.85 else None for form, k in zip(forms, known, strict=True)],
        "basement": basement,
        "height_m": [round(float(rng.uniform(*heights[kind])), 1) for kind in kinds],
    }
    return table(rows, [roof for _, roof, _ in area.roofs])


def ground_layers(area: Neighbourhood) -> dict[str, gpd.GeoDataFrame]:
    """What can be seen from above."""
    paved = [item for built in area.built for item in built.paved]
    numbers = [f"I{i:03d}" for i in range(1, len(area.inlets) + 1)]
    return {
        "paved": table({"kind": [kind for kind, _ in paved]}, [shape for _, shape in paved]),
        "trees": table(
            {
                "trunk_m": pd.array([t.trunk_m for t in area.trees], dtype="Float64"),
                "crown_m": pd.array([t.crown_m for t in area.trees], dtype="Float64"),
            },
            [tree.place for tree in area.trees],
        ),
        "water": table({"name": ["Mizzle Run", "Galosh Pond"]}, [drains.stream(), drains.pond()]),
        "inlets": table({"inlet_id": numbers}, list(area.inlets)),
        "streets": table({"street": [name for name, _ in area.streets]}, [line for _, line in area.streets]),
        "downspouts": downspouts(area),
        "avoid": table(
            {
                "name": [row["name"] for row in area.avoid],
                "kind": [row["kind"] for row in area.avoid],
                "effect": [row["effect"] for row in area.avoid],
                "sentence": [row["sentence"] for row in area.avoid],
                "height_m": pd.array([row["height"] for row in area.avoid], dtype="Float64"),
            },
            [row["geometry"] for row in area.avoid],
        ),
    }


def underground_layers(area: Neighbourhood) -> dict[str, gpd.GeoDataFrame]:
    """What lies under the ground."""
    below = area.underground
    return {
        "buried": table({"kind": [kind for kind, _ in below.buried]}, [line for _, line in below.buried]),
        "easements": table({"name": [name for name, _ in below.easements]}, [shape for _, shape in below.easements]),
        "wells": table({"well": range(1, len(below.wells) + 1)}, list(below.wells)),
        "septic": table({"field": range(1, len(below.septic) + 1)}, list(below.septic)),
    }


def downspouts(area: Neighbourhood) -> gpd.GeoDataFrame:
    """Downspouts that somebody has looked at: two streets, the front ones of many piped to the street."""
    rng = np.random.default_rng([area.seed, 22])
    leads: list[str] = []
    places: list[Point] = []
    for lot, built in zip(area.lots, area.built, strict=True):
        if lot.plan.street not in ("Rainbarrel Row", "Mizzle Way") or len(built.roofs) != 1 or not built.corners:
            continue
        if lot.plan.kind == "twin" or rng.random() > 0.55:
            continue
        piped = rng.random() < 0.6
        corners = shapely.get_coordinates(built.roofs[0][1].convex_hull)[:-1]
        order = np.argsort((corners - lot.left) @ lot.inward)
        for rank, index in enumerate(order[:2].tolist() + order[-2:].tolist()):
            leads.append("pipe" if piped and rank < 2 else str(rng.choice(["lawn", "drive"], p=[0.8, 0.2])))
            places.append(Point(corners[index]))
    return table({"spout": [f"S{i:03d}" for i in range(1, len(leads) + 1)], "leads_to": leads}, list(places))


def soils(area: Neighbourhood) -> gpd.GeoDataFrame:
    """Soil polygons in longitude and latitude, as surveys give them."""
    polygons = soil_map.soil_polygons(area.frame)
    frame = table({"symbol": [symbol for symbol, _ in polygons]}, [shape for _, shape in polygons])
    there = frame.to_crs("EPSG:4326")
    there.geometry = shapely.transform(there.geometry.to_numpy(), lambda p: np.round(p, 8))
    return there
