"""From a block and its ground mask to the flat arrays of the search."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.area import AreaContext, Block
from screening.grid import VALID
from screening.siting.burning import segments
from screening.siting.ground_mask import GroundMask
from screening.siting.kernels.lead_kernels import BURIED_PAVING, CONSENT, LOT_LINE, SHALLOW_PAVING, WALL
from screening.siting.kernels.plane_kernels import plane_heights
from screening.siting.search_arrays import (
    Bars,
    Cells,
    Ground,
    Segs,
    Spouts,
    World,
    rows_by_lot,
    search_limits,
)
from screening.siting.templates import DIRECTIONS, footprint_templates

__all__ = ["consent_areas", "search_world"]

_NONE: Final = np.array([], dtype=object)


def search_world(block: Block, context: AreaContext, mask: GroundMask) -> World:
    """Gather what the search of a block's lots needs."""
    rules = context.rules
    mask_cells = (mask.transform.a, -mask.transform.e)
    return World(
        spouts=_spouts(block, context),
        bars=_bars(block, context),
        segs=_segs(mask, len(block.lots)),
        mask=_cells(block, mask),
        ground=_ground(block, mask, rules.slope_scale_m),
        shapes=footprint_templates(rules, *mask_cells),
        limits=search_limits(rules, block.cell_x_m, block.cell_y_m),
    )


def consent_areas(block: Block) -> NDArray[Any]:
    """Mains (and buried lines of unknown kind) and easements: a lead crosses them with consent only."""
    found = []
    buried, easements = block.layers.get("buried"), block.layers.get("easements")
    if buried is not None and len(buried):
        found.append(buried.geometry.to_numpy()[~buried["kind"].isin(["service"]).to_numpy(dtype=bool)])
    if easements is not None and len(easements):
        found.append(easements.geometry.to_numpy())
    return np.concatenate(found) if found else _NONE


def _paving(block: Block) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Paving, and how a lead goes under it: shallow under walks and patios, buried under drives and what is unknown."""
    paved = block.layers.get("paved")
    if paved is None or not len(paved):
        return _NONE, np.array([], dtype=np.int64)
    light = paved["kind"].isin(["walk", "patio"]).to_numpy(dtype=bool)
    return paved.geometry.to_numpy(), np.where(light, SHALLOW_PAVING, BURIED_PAVING)


def _walls(block: Block, overhang_m: float) -> NDArray[Any]:
    """Walls of the roofs around: the eaves less the overhang, the eaves where nothing is left."""
    roofs = block.layers["roofs"].geometry.to_numpy()
    walls = shapely.buffer(roofs, -overhang_m, join_style="mitre", mitre_limit=5.0)
    return np.where(shapely.is_empty(walls), roofs, walls)


def _numbers(column: Any, missing: float) -> NDArray[np.float64]:
    values: NDArray[np.float64] = pd.to_numeric(column).astype("Float64").to_numpy(dtype=np.float64, na_value=missing)
    return values


def _spouts(block: Block, context: AreaContext) -> Spouts:
    table = block.tables["downspouts"]
    position = pd.Series(np.arange(len(block.lots)), index=block.lots["lot_id"].to_numpy())
    order, first = rows_by_lot(table["lot_id"].map(position).to_numpy(dtype=np.int64), len(block.lots))
    table = table.iloc[order]
    points = table.geometry.to_numpy()
    x, y = shapely.get_x(points), shapely.get_y(points)
    share = _numbers(table["share_m2"], 0.0)
    ground = _numbers(table["ground_m"], np.nan)
    low = _numbers(table["share_low_m2"], np.nan)
    start_mode, start_consent = _stands_on(block, points)
    return Spouts(
        x=x,
        y=y,
        ground=ground,
        share=share,
        share_low=np.where(np.isfinite(low), np.minimum(low, share), share),
        kept=share * _numbers(table["reach_share"], 0.0),
        roof=_roof_of(block, table),
        start_mode=start_mode,
        start_consent=start_consent,
        worth=table["worth_leading"].fillna(False).to_numpy(dtype=bool) & np.isfinite(ground) & (share > 0),
        house_direction=_house_directions(block),
        first=first,
    )


def _roof_of(block: Block, table: Any) -> NDArray[np.int64]:
    """Number in its layer of the roof that each downspout belongs to; -1 where that is not known."""
    pieces = block.tables["roof_pieces"].drop_duplicates("piece_id").set_index("piece_id")["roof_id"]
    number = pd.Series(np.arange(len(block.layers["roofs"])), index=block.layers["roofs"]["roof_id"].to_numpy())
    number = number[~number.index.duplicated()]
    roof: NDArray[np.int64] = table["piece_id"].map(pieces).map(number).fillna(-1).to_numpy(dtype=np.int64)
    return roof


def _stands_on(block: Block, points: NDArray[Any]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Depth at which a lead starts for the paving at the downspout, and whether it starts in an easement."""
    mode = np.zeros(len(points), dtype=np.int64)
    consent = np.zeros(len(points), dtype=np.int64)
    paving, kind = _paving(block)
    tree = shapely.STRtree(points)
    thing, point = tree.query(paving, predicate="intersects")
    np.maximum.at(mode, point, np.where(kind[thing] == BURIED_PAVING, 2, 1))
    _, point = tree.query(consent_areas(block), predicate="intersects")
    consent[point] = 1
    return mode, consent


def _house_directions(block: Block) -> NDArray[np.int64]:
    """Direction of the longest wall on each lot, as a number of template directions; 0 where there is no house."""
    out = np.zeros(len(block.lots), dtype=np.int64)
    pieces = block.tables["roof_pieces"]
    if not len(pieces):
        return out
    position = pd.Series(np.arange(len(block.lots)), index=block.lots["lot_id"].to_numpy())
    lot = pieces["lot_id"].map(position).to_numpy(dtype=np.int64)
    walls = segments(pieces.geometry.to_numpy())
    way = walls.end - walls.start
    length = np.floor(np.hypot(way[:, 0], way[:, 1]) * 1000.0 + 0.5)
    order = np.lexsort((walls.thing, -length, lot[walls.thing]))
    owner, at = np.unique(lot[walls.thing][order], return_index=True)
    longest = way[order[at]]
    angle = np.arctan2(longest[:, 1], longest[:, 0]) / np.pi * DIRECTIONS
    out[owner] = np.floor(angle + 0.5).astype(np.int64) % DIRECTIONS
    return out


def _bars(block: Block, context: AreaContext) -> Bars:
    """Segments in the way of leads, by lot."""
    lots = block.lots.geometry.to_numpy()
    tree = shapely.STRtree(lots)
    paving, paving_kind = _paving(block)
    walls = _walls(block, context.rules.roof_overhang_m)
    consent = consent_areas(block)
    things = np.concatenate([walls, consent, paving])
    kinds = np.concatenate([np.full(len(walls), WALL), np.full(len(consent), CONSENT), paving_kind]).astype(np.int64)
    roofs = np.concatenate([np.arange(len(walls)), np.full(len(consent) + len(paving), -1)]).astype(np.int64)
    thing, lot = tree.query(things, predicate="intersects")
    order = np.lexsort((thing, lot))
    thing, lot = thing[order], lot[order]
    shapes = np.concatenate([lots, things[thing]])
    owner = np.concatenate([np.arange(len(lots)), lot])
    kind = np.concatenate([np.full(len(lots), LOT_LINE), kinds[thing]]).astype(np.int64)
    roof = np.concatenate([np.full(len(lots), -1), roofs[thing]]).astype(np.int64)
    pieces = segments(shapes)
    order, first = rows_by_lot(owner[pieces.thing], len(lots))
    of = pieces.thing[order]
    start, end = pieces.start[order], pieces.end[order]
    return Bars(*_columns(start, end), kind[of], roof[of], first)


def _segs(mask: GroundMask, count: int) -> Segs:
    """Segments that footprints keep their distance from, by lot."""
    closed = mask.obstacles[(mask.obstacles["effect"] == "no digging").to_numpy(dtype=bool)]
    pieces = segments(closed.geometry.to_numpy())
    lot = closed["lot"].to_numpy(dtype=np.int64)[pieces.thing]
    clearance = closed["clearance_m"].to_numpy(dtype=np.float64)[pieces.thing]
    order, first = rows_by_lot(lot, count)
    return Segs(*_columns(pieces.start[order], pieces.end[order]), clearance[order], first)


def _columns(start: NDArray[np.float64], end: NDArray[np.float64]) -> tuple[NDArray[np.float64], ...]:
    """Ends of segments as four arrays, each whole in memory."""
    x0, y0 = np.ascontiguousarray(start[:, 0]), np.ascontiguousarray(start[:, 1])
    return x0, y0, np.ascontiguousarray(end[:, 0]), np.ascontiguousarray(end[:, 1])


def _cells(block: Block, mask: GroundMask) -> Cells:
    look = 0
    for constraint in mask.constraints:
        look |= (1 << constraint.bit) if constraint.effect == "look closer" else 0
    bounds = block.lots.geometry.bounds.to_numpy()
    west, south, east, north = (np.ascontiguousarray(bounds[:, i]) for i in range(4))
    return Cells(mask.lot, mask.bits, mask.closed_bits(), np.uint32(look), west, east, south, north)


def _ground(block: Block, mask: GroundMask, scale_m: float) -> Ground:
    rasters = block.rasters
    heights = np.asarray(rasters["heights_m"], dtype=np.float64)
    east, north = np.asarray(rasters["dz_dx"], dtype=np.float64), np.asarray(rasters["dz_dy"], dtype=np.float64)
    ground = (rasters["state"] == VALID) & np.isfinite(heights)
    rows, columns = block.shape
    wanted = (mask.lot.reshape(rows, 2, columns, 2) >= 0).any(axis=(1, 3))
    plane = np.empty(heights.shape)
    half_rows, half_columns = (max(1, int((scale_m / c - 1.0) / 2.0 + 0.5)) for c in (block.cell_y_m, block.cell_x_m))
    plane_heights(
        heights, ground, east, north, wanted, half_rows, half_columns, block.cell_x_m, block.cell_y_m, plane
    )  # fmt: skip
    return Ground(
        plane=plane,
        east=east,
        rise_north=north,
        slope_pct=np.asarray(rasters["slope_pct"], dtype=np.float64),
        upslope=np.asarray(rasters["accumulation"], dtype=np.int64),
        enters=np.asarray(rasters["enters"], dtype=np.int32),
        west=float(block.transform.c),
        north=float(block.transform.f),
        cell_x=block.cell_x_m,
        cell_y=block.cell_y_m,
    )
