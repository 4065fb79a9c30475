"""Made-up lots for tests: a plane or any ground, lots, roofs and streets, as a block and its context.

Everything is given in the plain frame of a case (x east, y north, metres, street along y = 0 as a rule) and can be
turned and shifted as a whole; ``placed`` brings a geometry of the plain frame to where the block has it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from affine import Affine
from pyproj import CRS
from shapely import LineString, Polygon, box

from screening.area import LAYER_COLUMNS, Area, AreaContext, Block, SoilMap
from screening.blocks.area_terrain import area_terrain
from screening.grid import Grid
from screening.rules import Rules
from screening.sources import Window

CRS_METRE = CRS.from_epsg(32614)
Thing = Any  # a geometry, or a mapping of columns with ``geometry``


def placed(geometry: Any, turn_deg: float = 0.0, shift_m: tuple[float, float] = (0.0, 0.0)) -> Any:
    """Bring a geometry (or an array of them) of the plain frame to the turned and shifted one."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return shapely.transform(geometry, lambda xy: xy @ np.array([[c, s], [-s, c]]) + np.array(shift_m))


def make_block(
    plane: tuple[float, float] = (0.0, 0.0),
    lots: Sequence[Thing] = (box(0, 0, 20, 40),),
    roofs: Sequence[Thing] = (),
    streets: Sequence[Thing] = (),
    *,
    cell_m: float = 1.0,
    margin_m: float = 20.0,
    rules: Rules | None = None,
    ground: Callable[[Any, Any], Any] | None = None,
    turn_deg: float = 0.0,
    shift_m: tuple[float, float] = (0.0, 0.0),
    noise_m: float = 0.0,
    seed: int = 1,
    soils: Sequence[Mapping[str, Any]] | None = None,
    downspouts: Sequence[Mapping[str, Any]] | None = None,
    own: Sequence[str] | None = None,
    **layers: Sequence[Thing],
) -> tuple[Block, AreaContext]:
    """Make a block on a plane (or any ground) and its context.

    Parameters
    ----------
    plane
        Rise to the east and to the north [m/m]; the ground is 100 at the plain frame's origin.
    lots, roofs, streets, **layers
        Geometries, or mappings of columns with ``geometry``; ids are made where missing (``A``, ``B``, ... for lots,
        ``r0``, ``r1``, ... for roofs). Layers are named as in ``LAYER_COLUMNS``; one not passed is not given.
    ground
        Height above the plane at (x, y) of the plain frame [m].
    turn_deg, shift_m
        Turn of the whole frame about its origin, anticlockwise, then its shift.
    noise_m
        White noise, one sigma.
    soils
        Mappings with ``geometry`` and any of the columns of ``SoilMap.units``; group B unless said.
    downspouts
        Mappings with ``geometry`` (a point) and any columns of the downspouts table, ``roof`` (number of the roof)
        among them; else four to a roof piece, at the corners, with a quarter of its area each.
    own
        Ids of the lots that are the block's own; all unless said.
    """
    rules = rules or Rules()
    given: dict[str, Sequence[Thing]] = {"lots": lots, "roofs": roofs, **layers}
    if streets:
        given["streets"] = streets
    frames = {name: _frame(name, things, turn_deg, shift_m) for name, things in given.items()}
    frames["lots"] = frames["lots"].sort_values("lot_id").reset_index(drop=True)
    transform, shape = _window(frames, cell_m, margin_m)
    x = transform.c + cell_m * (np.arange(shape[1]) + 0.5)[None, :]
    y = transform.f - cell_m * (np.arange(shape[0]) + 0.5)[:, None]
    heights = _heights(x, y, plane, ground, turn_deg, shift_m)
    heights += noise_m * np.random.default_rng(seed).standard_normal(shape)
    rasters = _rasters(heights, frames, transform, rules)
    mine = frames["lots"] if own is None else frames["lots"][frames["lots"]["lot_id"].isin(list(own))]
    mine = mine.reset_index(drop=True)
    pieces = _pieces(frames["roofs"], mine)
    spouts = _downspouts(pieces) if downspouts is None else _given_downspouts(downspouts, pieces, turn_deg, shift_m)
    given_names = frozenset(frames) | ({"soils"} if soils is not None else set())
    inlet_ids = tuple(frames["inlets"]["inlet_id"].astype(object)) if "inlets" in frames else ()
    context = AreaContext(rules, CRS_METRE, given_names, inlet_ids=inlet_ids)
    return Block(
        lots=mine,
        layers=frames,
        transform=transform,
        rasters=rasters,
        tables={"roof_pieces": pieces, "downspouts": spouts},
        soils=None if soils is None else _soil_map(soils, turn_deg, shift_m),
    ), context


def _frame(name: str, things: Sequence[Thing], turn_deg: float, shift_m: tuple[float, float]) -> gpd.GeoDataFrame:
    rows = [dict(thing) if isinstance(thing, Mapping) else {"geometry": thing} for thing in things]
    for number, row in enumerate(rows):
        row["geometry"] = placed(row["geometry"], turn_deg, shift_m)
        if name == "lots":
            row.setdefault("lot_id", chr(ord("A") + number) if number < 26 else f"Z{number:06d}")
        if name == "roofs":
            row.setdefault("roof_id", f"r{number}")
        if name == "inlets":
            row.setdefault("inlet_id", f"i{number}")
    columns = {column: [row.get(column) for row in rows] for column in LAYER_COLUMNS[name]}
    numbers = {"trunk_m", "crown_m", "clearance_m", "height_m"}
    flags = {"basement", "owner_occupied", "association"}
    table = pd.DataFrame(
        {
            column: pd.Series(
                values,
                dtype="Float64" if column in numbers else "boolean" if column in flags else "str",
            )
            for column, values in columns.items()
        }
    )
    return gpd.GeoDataFrame(table, geometry=[row["geometry"] for row in rows], crs=CRS_METRE)


def _window(frames: Mapping[str, gpd.GeoDataFrame], cell_m: float, margin_m: float) -> tuple[Affine, tuple[int, int]]:
    bounds = np.array([frames[name].total_bounds for name in ("lots", "roofs") if len(frames[name])])
    west, south = np.floor((bounds[:, :2].min(axis=0) - margin_m) / cell_m) * cell_m
    east, north = np.ceil((bounds[:, 2:].max(axis=0) + margin_m) / cell_m) * cell_m
    shape = (round((north - south) / cell_m), round((east - west) / cell_m))
    return Affine(cell_m, 0, west, 0, -cell_m, north), shape


def _heights(
    x: Any,
    y: Any,
    plane: tuple[float, float],
    ground: Callable[[Any, Any], Any] | None,
    turn_deg: float,
    shift_m: tuple[float, float],
) -> Any:
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    plain_x = c * (x - shift_m[0]) + s * (y - shift_m[1])
    plain_y = -s * (x - shift_m[0]) + c * (y - shift_m[1])
    heights = 100.0 + plane[0] * plain_x + plane[1] * plain_y
    return heights if ground is None else heights + ground(plain_x, plain_y)


def _rasters(heights: Any, frames: Mapping[str, gpd.GeoDataFrame], transform: Affine, rules: Rules) -> dict[str, Any]:
    grid = Grid.from_array(np.asarray(heights, dtype=np.float64), transform, crs=CRS_METRE)
    area = Area("made up", CRS_METRE, CRS_METRE, 1.0, grid, frames)
    sources = area_terrain(area, rules, threads=1)
    rows, columns = heights.shape
    return {name: source.read(Window(0, 0, rows, columns)) for name, source in sources.items()}


def _pieces(roofs: gpd.GeoDataFrame, lots: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    rows = []
    for roof in roofs.itertuples():
        number = 0
        for lot in lots.itertuples():
            part = shapely.intersection(roof.geometry, lot.geometry)
            if part.area < 0.5:
                continue
            small = part.area < 15.0
            kind = roof.kind if isinstance(roof.kind, str) else ("shed" if small else "house")
            rows.append({
                "piece_id": f"{roof.roof_id}/{number}", "roof_id": roof.roof_id, "lot_id": lot.lot_id, "kind": kind,
                "kind_basis": "given" if isinstance(roof.kind, str) else "guessed", "roof_kind": "hip",
                "basement": roof.basement, "area_m2": part.area, "shared": not small, "method": "hand",
                "geometry": part,
            })  # fmt: skip
            number += 1
    columns = ["piece_id", "roof_id", "lot_id", "kind", "kind_basis", "roof_kind", "basement", "area_m2", "shared",
               "method", "geometry"]  # fmt: skip
    return gpd.GeoDataFrame(pd.DataFrame(rows, columns=columns), geometry="geometry", crs=CRS_METRE)


_SPOUT_COLUMNS = ["downspout_id", "lot_id", "piece_id", "placed", "share_m2", "share_low_m2", "share_high_m2",
                  "worth_leading", "normal_x", "normal_y", "leads_to", "geometry"]  # fmt: skip


def _spout(piece: Any, letter: str, point: Any, share: float, **more: Any) -> dict[str, Any]:
    away = np.array([point.x - piece.geometry.centroid.x, point.y - piece.geometry.centroid.y])
    away /= max(float(np.hypot(*away)), 1e-9)
    row = {
        "downspout_id": f"{piece.piece_id}/{letter}", "lot_id": piece.lot_id, "piece_id": piece.piece_id,
        "placed": True, "share_m2": share, "share_low_m2": share, "share_high_m2": share,
        "worth_leading": share >= 15.0, "normal_x": away[0], "normal_y": away[1], "leads_to": None, "geometry": point,
    }  # fmt: skip
    return {**row, **more}


def _spout_frame(rows: list[dict[str, Any]]) -> gpd.GeoDataFrame:
    table = pd.DataFrame(rows, columns=_SPOUT_COLUMNS)
    table["leads_to"] = table["leads_to"].astype("str")
    return gpd.GeoDataFrame(table, geometry="geometry", crs=CRS_METRE)


def _downspouts(pieces: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    rows = []
    for piece in pieces.itertuples():
        if not piece.shared:
            continue
        corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(piece.geometry).exterior)[:4]
        vertices = shapely.get_coordinates(piece.geometry)
        for letter, corner in zip("abcd", corners, strict=True):
            nearest = vertices[np.argmin(np.hypot(*(vertices - corner).T))]
            rows.append(_spout(piece, letter, shapely.Point(nearest), piece.area_m2 / 4))
    return _spout_frame(rows)


def _given_downspouts(
    downspouts: Sequence[Mapping[str, Any]], pieces: gpd.GeoDataFrame, turn_deg: float, shift_m: tuple[float, float]
) -> gpd.GeoDataFrame:
    rows = []
    for number, spout in enumerate(downspouts):
        columns = dict(spout)
        piece = list(pieces.itertuples())[columns.pop("roof", 0)]
        point = placed(columns.pop("geometry"), turn_deg, shift_m)
        share = columns.pop("share_m2", 30.0)
        rows.append(_spout(piece, "abcdefghijkl"[number], point, share, **{"placed": False, **columns}))
    return _spout_frame(rows)


def _soil_map(soils: Sequence[Mapping[str, Any]], turn_deg: float, shift_m: tuple[float, float]) -> SoilMap:
    units = []
    for number, soil in enumerate(soils):
        hsg = soil.get("hsg", "B")
        row = {"unit": f"u{number}", "name": "made up", "hsg": hsg, "source": "survey", "ksat_um_s": np.nan,
               "water_table_m": np.nan, "bedrock_m": np.nan}  # fmt: skip
        row.update({f"chance_{g}": float(hsg.lower() == g) for g in ("a", "b", "c", "d", "unknown")})
        row.update({key: value for key, value in soil.items() if key != "geometry"})
        units.append(row)
    polygons = gpd.GeoDataFrame(
        {"unit": [f"u{number}" for number in range(len(soils))]},
        geometry=[placed(soil["geometry"], turn_deg, shift_m) for soil in soils],
        crs=CRS_METRE,
    )
    return SoilMap(polygons, pd.DataFrame(units).set_index("unit"))


def standard_lot(**more: Any) -> dict[str, Any]:
    """Arguments of the standard lot: 20 x 40, house x 4-16, y 12-22, the street along y = 0."""
    return {
        "lots": [box(0, 0, 20, 40)],
        "roofs": [{"geometry": Polygon([(4, 12), (16, 12), (16, 22), (4, 22)]), "kind": "house"}],
        "streets": [{"geometry": LineString([(-40, 0), (60, 0)]), "street": "Front Row"}],
        **more,
    }
