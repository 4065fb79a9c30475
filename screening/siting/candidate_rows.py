"""Rows of the tables ``candidates`` and ``leads`` from the numbers that the search kept."""

from __future__ import annotations

from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.area import AreaContext, Block
from screening.fields import TABLES, round_half_up
from screening.fields.id_lists import ids_text
from screening.rules import Rules
from screening.siting.ellipse import ellipse_polygons, footprint_area_m2
from screening.siting.frontage import frontage
from screening.siting.ground_mask import GroundMask
from screening.siting.kept import Kept, LeadSums, fall_error_m, lead_sums, lowest_lips
from screening.siting.kernels.footprint_kernels import under_footprints
from screening.siting.kernels.search_kernels import DETAILS
from screening.siting.kernels.streamline_kernels import garden_overflows
from screening.siting.overflow import Overflows
from screening.siting.run_on import run_on_m2
from screening.siting.search_arrays import STEEPEST_SIGMAS, World
from screening.siting.search_world import consent_areas, service_lines
from screening.siting.templates import ASPECTS, DIRECTIONS

__all__ = ["CROWN", "LEAD_MODES", "candidate_rows", "lead_rows", "overflow_rows"]

LEAD_MODES: Final = ("surface", "shallow", "buried")
CROWN: Final = "tree, crown only"

NOTHING_SHARE: Final = 0.01
"""A least roof share that is less of the share than this is as good as nothing."""

Floats = NDArray[np.float64]


def candidate_rows(
    block: Block, context: AreaContext, mask: GroundMask, world: World, kept: Kept, found: Overflows
) -> gpd.GeoDataFrame:
    """Make the candidates table, soils still missing, nothing chosen; ``found``: their overflow cell by cell."""
    rules = context.rules
    numbers = kept.numbers
    shape = numbers[:, 10].astype(np.int64)
    aspect = np.array(ASPECTS)[shape // DIRECTIONS]
    turn = (shape % DIRECTIONS) * (180.0 / DIRECTIONS)
    size, x, y = numbers[:, 0], numbers[:, DETAILS], numbers[:, DETAILS + 1]
    sums = lead_sums(kept, world)
    columns: dict[str, Any] = {
        "lot_id": block.lots["lot_id"].to_numpy(dtype=object)[kept.lot],
        "candidate": _numbers_within(kept.lot),
        "chosen": False,
        "x_m": x,
        "y_m": y,
        "long_axis_deg": turn,
        "aspect": aspect,
        "room_m2": np.maximum(numbers[:, 1], size),
        "ponding_area_m2": size,
        "footprint_m2": footprint_area_m2(size, aspect, rules.berm_ring_m),
        **_water_columns(block, kept, world, rules),
        **_level_columns(kept, world, sums),
        **_ground_columns(block, context, kept, world, mask, shape, size),
        "eligible": numbers[:, 7] == 1.0,
        "class_code": numbers[:, 3].astype(np.int64),
    }
    columns["side"] = frontage(block).side(kept.lot, x, y)
    columns.update(_overflow_columns(block, world, numbers, found))
    columns["crosses_easement"] = _crossing(consent_areas(block), kept, world)
    columns["crosses_service"] = _crossing(service_lines(block), kept, world)
    for field in TABLES["candidates"]:
        if field.step and field.name in columns:
            columns[field.name] = round_half_up(columns[field.name], field.step)
        elif field.dtype == "text" and field.name in columns:
            # one type whatever the block holds: a column of nothing but missing text is text too
            columns[field.name] = pd.array(columns[field.name], dtype="str")
    polygons = ellipse_polygons(x, y, size, aspect, turn)
    return gpd.GeoDataFrame(columns, geometry=polygons, crs=context.crs)


def _numbers_within(lot: NDArray[np.int64]) -> NDArray[np.int64]:
    """0, 1, 2, ... anew for each lot; lots come one after another."""
    count = np.arange(len(lot))
    starts = np.concatenate([[True], lot[1:] != lot[:-1]]) if len(lot) else np.array([], dtype=bool)
    first: NDArray[np.int64] = count[starts][np.cumsum(starts) - 1] if len(lot) else count
    return count - first


def _water_columns(block: Block, kept: Kept, world: World, rules: Rules) -> dict[str, Any]:
    """Downspouts led, their area and what it needs."""
    led = kept.slots >= 0
    slot = np.maximum(kept.slots, 0)
    spouts, p = world.spouts, world.limits
    area = np.where(led, spouts.share[slot], 0.0).sum(axis=1)
    low = np.where(led, spouts.share_low[slot], 0.0).sum(axis=1)
    water = np.where(led, spouts.share[slot] * spouts.reach[slot], 0.0).sum(axis=1)
    wanted_mm = max(rules.capture_depth_mm, rules.capture_depth_least_mm)
    size, room = kept.numbers[:, 0], np.maximum(kept.numbers[:, 1], kept.numbers[:, 0])
    per_mm = p.wanted_m2_per_m2 / wanted_mm
    all_water = world.lots.kept_all[kept.lot]
    names = _spout_ids(block)
    same = _alike(kept.slots)
    sets = kept.slots[np.unique(same, return_index=True)[1]]
    texts = np.array([ids_text(names[s] for s in led_by if s >= 0) for led_by in sets.tolist()], dtype=object)
    return {
        "needed_m2": p.wanted_m2_per_m2 * area,
        "downspout_ids": texts[same],
        "draining_area_m2": area,
        "capture_depth_mm": size / (per_mm * area),
        # where the share may be as good as nothing, nobody knows how much it holds
        "capture_most_mm": np.divide(
            room, per_mm * low, out=np.full(len(low), np.nan), where=low > NOTHING_SHARE * area
        ),
        "kept_share": water / area,
        "kept_of_lot_share": np.divide(kept.numbers[:, 17], all_water, out=np.zeros(len(area)), where=all_water > 0),
    }


def _alike(rows: NDArray[np.int64]) -> NDArray[np.int64]:
    """Number of each row among the different ones."""
    same = np.zeros(len(rows), dtype=np.int64)
    for column in rows.T:
        number = column - column.min(initial=0)
        same = np.unique(same * (number.max(initial=0) + 1) + number, return_inverse=True)[1]
    return same


def _spout_ids(block: Block) -> NDArray[Any]:
    """Ids of the downspouts in the order of the search."""
    table = block.tables["downspouts"]
    position = pd.Series(np.arange(len(block.lots)), index=block.lots["lot_id"].to_numpy())
    order = np.argsort(table["lot_id"].map(position).to_numpy(dtype=np.int64), kind="stable")
    ids: NDArray[Any] = table["downspout_id"].to_numpy(dtype=object)[order]
    return ids


def _level_columns(kept: Kept, world: World, sums: LeadSums) -> dict[str, Any]:
    """Levels and falls."""
    p = world.limits
    ground = kept.numbers[:, 12]
    drop = kept.numbers[:, 13] * np.sqrt(kept.numbers[:, 0])
    low = lowest_lips(kept, world)
    high = np.maximum(ground - drop + p.berm_most - p.freeboard_berm, low)
    tops = sums.ground_m - sums.needed_m
    lip = np.clip(np.minimum(ground, np.fmin.reduce(tops, axis=1)), low, high)
    return {
        "lead": np.array(LEAD_MODES, dtype=object)[np.where(kept.slots >= 0, kept.modes, 0).max(axis=1)],
        "run_m": np.fmax.reduce(sums.run_m, axis=1),
        "fall_m": sums.at_tightest(sums.ground_m) - lip,
        "fall_needed_m": sums.at_tightest(sums.needed_m),
        "fall_margin_m": sums.at_tightest(tops) - low,
        "fall_error_m": fall_error_m(sums.at_tightest(sums.run_m), p),
        "lip_m": lip,
        "lip_low_m": low,
        "lip_high_m": high,
        "ground_m": ground,
        "drop_m": drop,
        "berm_m": np.maximum(lip + p.freeboard_berm - (ground - drop), 0.0),
        "cut_m": np.maximum(ground + drop - lip, 0.0),
    }


def _ground_columns(
    block: Block,
    context: AreaContext,
    kept: Kept,
    world: World,
    mask: GroundMask,
    shape: NDArray[np.int64],
    size: Floats,
) -> dict[str, Any]:
    """What lies under the footprint."""
    count = len(size)
    number = np.searchsorted(world.sizes_m2, size - 1e-9).clip(0, len(world.sizes_m2) - 1)
    numbers = kept.numbers
    row, column = numbers[:, 14].astype(np.int64), numbers[:, 15].astype(np.int64)
    slope, upslope = np.zeros(count), np.zeros(count, dtype=np.int64)
    look = np.zeros(count, dtype=np.uint32)
    cells = (
        np.asarray(block.rasters["slope_pct"], dtype=np.float64),
        np.asarray(block.rasters["accumulation"], dtype=np.int64),
    )
    templates = (world.cells, world.first_cell)
    under_footprints(row, column, shape, number, *templates, *cells, world.bits, slope, upslope, look)
    names = {c.bit: c.name for c in mask.constraints if c.effect == "look closer"}
    look &= np.uint32(sum(1 << bit for bit in names))
    others = [(bit, name) for bit, name in sorted(names.items()) if name != CROWN]
    texts = {bits: "; ".join(name for bit, name in others if bits >> bit & 1) for bits in np.unique(look).tolist()}
    crown = sum(1 << bit for bit, name in names.items() if name == CROWN)
    return {
        "slope_pct": np.maximum(100.0 * numbers[:, 19], slope - STEEPEST_SIGMAS * context.rules.slope_error_pct),
        "upslope_m2": upslope * (block.cell_x_m * block.cell_y_m),
        "run_on_m2": run_on_m2(block, context.rules, row, column, shape, number, world),
        "under_crown": (look & np.uint32(crown)) > 0,
        "look_at": np.array([texts[bits] or None for bits in look.tolist()], dtype=object),
    }


def _met(world: World, numbers: Floats) -> NDArray[np.int64]:
    """What each garden's overflow meets, followed now where the search did not: a garden that fails anyhow."""
    met = numbers[:, DETAILS + 2]
    left = np.isnan(met)
    x, y = numbers[left, DETAILS], numbers[left, DETAILS + 1]
    found = np.zeros(len(x), dtype=np.int64)
    garden_overflows(x, y, world.ends, world.east, world.rise_north, world.direction, world.limits, found)
    out = np.where(left, 0.0, met).astype(np.int64)
    out[left] = found
    return out


def _overflow_columns(block: Block, world: World, numbers: Floats, found: Overflows) -> dict[str, Any]:
    """Where the overflow goes, and the building near which it passes, within reach or farther down."""
    met = _met(world, numbers)
    roofs = np.array([None, *block.layers["roofs"]["roof_id"]], dtype=object)
    threatens = roofs[np.maximum(met, 0)]  # the first stands for none
    farther = np.array([name or None for name in found.threatens], dtype=object)
    farther[met > 0] = None
    named = np.array([f"building {roof}" for roof in threatens], dtype=object)
    spared = np.where(found.threatens == "", found.to, "lot line")
    to = np.where(pd.isna(threatens), spared, named)
    return {
        "overflow_to": to, "overflow_threatens": threatens, "overflow_may_pass": farther, "carved_m": found.carved_m
    }  # fmt: skip


def _crossing(things: NDArray[Any], kept: Kept, world: World) -> NDArray[np.bool_]:
    """Whether any lead of a candidate crosses one of these things."""
    flags = np.zeros(len(kept.lot), dtype=bool)
    if not len(things) or not len(kept.lot):
        return flags
    lines, owner = _lines(kept, world)
    line, _ = shapely.STRtree(things).query(lines, predicate="intersects")
    flags[owner[line]] = True
    return flags


def _lines(kept: Kept, world: World) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Leads as lines, and the candidate of each."""
    owner, at = np.nonzero(kept.slots >= 0)
    slot = kept.slots[owner, at]
    start = np.column_stack([world.spouts.x[slot], world.spouts.y[slot]])
    end = kept.numbers[owner, DETAILS : DETAILS + 2]
    lines: NDArray[Any] = np.asarray(shapely.linestrings(np.stack([start, end], axis=1)))
    return lines, owner


def lead_rows(block: Block, context: AreaContext, world: World, kept: Kept, candidates: Any) -> gpd.GeoDataFrame:
    """Make the leads table: one row for each downspout of each candidate."""
    lines, owner = _lines(kept, world)
    _, at = np.nonzero(kept.slots >= 0)
    sums = lead_sums(kept, world)
    lip = candidates["lip_m"].to_numpy(dtype=np.float64)[owner]
    return gpd.GeoDataFrame(
        {
            "lot_id": candidates["lot_id"].to_numpy(dtype=object)[owner],
            "candidate": candidates["candidate"].to_numpy()[owner],
            "downspout_id": _spout_ids(block)[kept.slots[owner, at]],
            "lead": np.array(LEAD_MODES, dtype=object)[kept.modes[owner, at]],
            "run_m": sums.run_m[owner, at],
            "fall_m": sums.ground_m[owner, at] - lip,
            "fall_needed_m": sums.needed_m[owner, at],
        },
        geometry=lines,
        crs=context.crs,
    )


def overflow_rows(context: AreaContext, candidates: Any, found: Overflows) -> gpd.GeoDataFrame:
    """Make the overflow paths table."""
    return gpd.GeoDataFrame(
        {
            "lot_id": candidates["lot_id"].to_numpy(dtype=object),
            "candidate": candidates["candidate"].to_numpy(),
            "overflow_to": candidates["overflow_to"].to_numpy(dtype=object),
            "length_m": found.length_m,
        },
        geometry=found.path,
        crs=context.crs,
    )
