"""From a block and its ground mask to the flat arrays of the search."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.area import AreaContext, Block
from screening.grid import VALID
from screening.rules import Rules
from screening.siting.burning import Segments, segments
from screening.siting.ground_mask import GroundMask
from screening.siting.kernels.lead_kernels import BURIED_PAVING, CONSENT, LOT_LINE, SHALLOW_PAVING, WALL
from screening.siting.kernels.plane_kernels import plane_heights
from screening.siting.overflow import block_setbacks, block_stops
from screening.siting.search_arrays import BAR, LOT, SEG, SPOUT, Place, World, cell_flags, rows_by_lot, search_limits
from screening.siting.templates import DIRECTIONS, footprint_templates

__all__ = ["consent_areas", "search_world", "service_lines"]

LEAST_REACH: Final = 0.01
"""Where less of a lot's water than this reaches the drain, gardens are not compared by what they keep out of it."""

_NONE: Final = np.array([], dtype=object)


def search_world(block: Block, context: AreaContext, mask: GroundMask) -> World:
    """Gather what the search of a block's lots needs."""
    rules, rasters = context.rules, block.rasters
    shapes = footprint_templates(rules, mask.transform.a, -mask.transform.e)
    place = Place(float(block.transform.c), float(block.transform.f), block.cell_x_m, block.cell_y_m)
    lots = np.zeros(len(block.lots) + 1, dtype=LOT)
    spouts, lots["first_spout"] = _spouts(block)
    bars, lots["first_bar"] = _bars(block, context, spouts["roof"])
    segs, lots["first_seg"] = _segs(block, mask)
    lots["house_direction"][:-1] = _house_directions(block)
    bounds = block.lots.geometry.bounds.to_numpy()
    for column, name in enumerate(("west", "south", "east", "north")):
        lots[name][:-1] = bounds[:, column]
    lots["kept_all"][:-1] = _sums(np.where(spouts["worth"] == 1, spouts["kept"], 0.0), lots["first_spout"])
    slope = np.asarray(rasters["slope_pct"], dtype=np.float64)
    upslope_m2 = np.asarray(rasters["accumulation"]) * (block.cell_x_m * block.cell_y_m)
    east, north = (np.asarray(rasters[name], dtype=np.float64) for name in ("dz_dx", "dz_dy"))
    return World(
        lots=lots.view(np.recarray),
        spouts=spouts.view(np.recarray),
        bars=bars.view(np.recarray),
        segs=segs.view(np.recarray),
        lot=mask.lot,
        bits=mask.bits,
        plane=_plane(block, mask, east, north, rules.slope_scale_m),
        east=east,
        rise_north=north,
        flags=cell_flags(rules, slope, upslope_m2),
        ends=_ends(block, rules),
        direction=np.ascontiguousarray(rasters["direction"], dtype=np.uint8),
        **{name: value for name, value in shapes._asdict().items() if name in World._fields},
        limits=search_limits(
            rules,
            place,
            shapes,
            closed_bits=mask.closed_bits(),
            look_bits=np.uint32(sum(1 << c.bit for c in mask.constraints if c.effect == "look closer")),
        ),
    )


def _ends(block: Block, rules: Rules) -> NDArray[np.int32]:
    """Label of each elevation cell: -1 what ends water's way, in a setback the number of the roof and one, else 0."""
    return np.where(block_stops(block) > 0, np.int32(-1), block_setbacks(block, rules))


def _sums(values: NDArray[np.float64], first: NDArray[np.int64]) -> NDArray[np.float64]:
    """Sums of runs of values, 0 where a run is empty."""
    owner = np.repeat(np.arange(len(first) - 1), np.diff(first))
    return np.bincount(owner, values, minlength=len(first) - 1).astype(np.float64)


def consent_areas(block: Block) -> NDArray[Any]:
    """Mains (and buried lines of unknown kind) and easements: a lead crosses them with consent only."""
    found = []
    buried, easements = block.layers.get("buried"), block.layers.get("easements")
    if buried is not None and len(buried):
        found.append(buried.geometry.to_numpy()[~buried["kind"].isin(["service"]).to_numpy(dtype=bool)])
    if easements is not None and len(easements):
        found.append(easements.geometry.to_numpy())
    return np.concatenate(found) if found else _NONE


def service_lines(block: Block) -> NDArray[Any]:
    """Buried service lines: a lead may cross them, with care."""
    buried = block.layers.get("buried")
    if buried is None or not len(buried):
        return _NONE
    lines: NDArray[Any] = buried.geometry.to_numpy()[buried["kind"].isin(["service"]).to_numpy(dtype=bool)]
    return lines


def _paving(block: Block) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Paving, and how a lead goes under it: shallow under walks and patios, buried under drives and what is unknown."""
    paved = block.layers.get("paved")
    if paved is None or not len(paved):
        return _NONE, np.array([], dtype=np.int64)
    light = paved["kind"].isin(["walk", "patio"]).to_numpy(dtype=bool)
    return paved.geometry.to_numpy(), np.where(light, SHALLOW_PAVING, BURIED_PAVING)


def _walls(block: Block, overhang_m: float, with_spouts: NDArray[np.int64]) -> NDArray[Any]:
    """Walls that leads go round: of roofs with downspouts the eaves less the overhang, else the eaves."""
    walls: NDArray[Any] = block.layers["roofs"].geometry.to_numpy().copy()
    led = np.unique(with_spouts[with_spouts >= 0])
    inner = shapely.buffer(walls[led], -overhang_m, join_style="mitre", mitre_limit=5.0)
    walls[led] = np.where(shapely.is_empty(inner), walls[led], inner)
    return walls


def _numbers(column: Any, missing: float) -> NDArray[np.float64]:
    values: NDArray[np.float64] = pd.to_numeric(column).astype("Float64").to_numpy(dtype=np.float64, na_value=missing)
    return values


def _spouts(block: Block) -> tuple[NDArray[Any], NDArray[np.int64]]:
    table = block.tables["downspouts"]
    position = pd.Series(np.arange(len(block.lots)), index=block.lots["lot_id"].to_numpy())
    order, first = rows_by_lot(table["lot_id"].map(position).to_numpy(dtype=np.int64), len(block.lots))
    table = table.iloc[order]
    points = table.geometry.to_numpy()
    out = np.zeros(len(table), dtype=SPOUT)
    out["x"], out["y"] = shapely.get_x(points), shapely.get_y(points)
    out["ground"] = _numbers(table["ground_m"], np.nan)
    out["share"] = _numbers(table["share_m2"], 0.0)
    low = _numbers(table["share_low_m2"], np.nan)
    out["share_low"] = np.where(np.isfinite(low), np.minimum(low, out["share"]), out["share"])
    out["reach"] = _numbers(table["reach_share"], 0.0)
    out["kept"] = _compared_by(out["share"], out["reach"], first)
    out["roof"] = _roof_of(block, table)
    out["start_mode"], out["start_consent"] = _stands_on(block, points)
    worth = table["worth_leading"].fillna(False).to_numpy(dtype=bool)
    out["worth"] = worth & np.isfinite(out["ground"]) & (out["share"] > 0)
    return out, first


def _compared_by(
    share_m2: NDArray[np.float64], reach: NDArray[np.float64], first: NDArray[np.int64]
) -> NDArray[np.float64]:
    """What the gardens of a lot are compared by: the water that they keep out of the drain, as roof area [m2].

    Where less than LEAST_REACH of a lot's water reaches the drain, that tells gardens apart by traces, or not at all:
    the roof that they take does.
    """
    kept = share_m2 * reach
    nothing = _sums(kept, first) < LEAST_REACH * _sums(share_m2, first)
    return np.where(np.repeat(nothing, np.diff(first)), share_m2, kept)


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


def _bars(block: Block, context: AreaContext, with_spouts: NDArray[np.int64]) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Segments in the way of leads, by lot."""
    lots = block.lots.geometry.to_numpy()
    tree = shapely.STRtree(lots)
    paving, paving_kind = _paving(block)
    walls = _walls(block, context.rules.roof_overhang_m, with_spouts)
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
    out = np.zeros(len(of), dtype=BAR)
    _put_ends(out, pieces, order)
    out["kind"], out["roof"] = kind[of], roof[of]
    return out, first


def _segs(block: Block, mask: GroundMask) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Segments that footprints keep their distance from, by lot; those too far from their lot are left out."""
    closed = mask.obstacles[(mask.obstacles["effect"] == "no digging").to_numpy(dtype=bool)]
    pieces = segments(closed.geometry.to_numpy(), closed["thing"].to_numpy())
    lot = closed["lot"].to_numpy(dtype=np.int64)[pieces.thing]
    clearance = closed["clearance_m"].to_numpy(dtype=np.float64)[pieces.thing]
    bounds = block.lots.geometry.bounds.to_numpy()[lot]
    low, high = np.minimum(pieces.start, pieces.end), np.maximum(pieces.start, pieces.end)
    near = (low <= bounds[:, 2:] + clearance[:, None]) & (high >= bounds[:, :2] - clearance[:, None])
    kept = np.flatnonzero(near.all(axis=1))
    order, first = rows_by_lot(lot[kept], len(block.lots))
    order = kept[order]
    out = np.zeros(len(order), dtype=SEG)
    _put_ends(out, pieces, order)
    out["clearance"] = clearance[order]
    return out, first


def _put_ends(out: NDArray[Any], pieces: Segments, order: NDArray[np.int64]) -> None:
    """Write the ends of segments into their records."""
    out["x0"], out["y0"] = pieces.start[order].T
    out["x1"], out["y1"] = pieces.end[order].T


def _plane(
    block: Block, mask: GroundMask, east: NDArray[np.float64], north: NDArray[np.float64], scale_m: float
) -> NDArray[np.float64]:
    """Height of the fitted plane at each elevation cell of the block's lots, roofs left out [m]."""
    rasters = block.rasters
    heights = np.asarray(rasters["heights_m"], dtype=np.float64)
    ground = (rasters["state"] == VALID) & np.isfinite(heights)
    own = mask.lot >= 0
    wanted = own[::2, ::2] | own[::2, 1::2] | own[1::2, ::2] | own[1::2, 1::2]
    plane = np.empty(heights.shape)
    half_rows, half_columns = (max(1, int((scale_m / c - 1.0) / 2.0 + 0.5)) for c in (block.cell_y_m, block.cell_x_m))
    plane_heights(
        heights, ground, east, north, wanted, half_rows, half_columns, block.cell_x_m, block.cell_y_m,
        np.empty((4, heights.shape[1])), plane,
    )  # fmt: skip
    return plane
