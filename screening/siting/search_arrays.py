"""What the search is given: few flat arrays, some of records, bundled so that kernels take them as one.

Compiled code pays for every array that it is passed, so what belongs together shares one: downspouts, segments and
lots are arrays of records, the scalars of the rules one record.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from screening.rules import Rules
from screening.siting.kernels.centre_kernels import LEAD_ROWS, MOST_LEADS
from screening.siting.kernels.line_kernels import BLOCK, DETAILS, RECORD
from screening.siting.kernels.room_kernels import CLOSED
from screening.siting.kernels.search_kernels import WIDTHS
from screening.siting.templates import Templates

__all__ = [
    "BAR",
    "CLEAR",
    "LOOK",
    "LOT",
    "SEG",
    "SPOUT",
    "STEEP",
    "Place",
    "Work",
    "World",
    "new_work",
    "search_limits",
]

Floats = NDArray[np.float64]

SPOUT: Final = np.dtype(
    [(name, "f8") for name in ("x", "y", "ground", "share", "share_low", "reach", "kept")]
    + [(name, "i8") for name in ("roof", "start_mode", "start_consent", "worth")]
)
"""A downspout. ``reach``: part of its water that reaches the drain today; ``kept``: what gardens are compared by, share
times reach, or the share alone where next to nothing of the lot's water reaches the drain [m2]; ``roof``: number of its
roof; ``start_mode``, ``start_consent``: what it stands on; ``worth``: 1 when it is worth leading."""

BAR: Final = np.dtype([(name, "f8") for name in ("x0", "y0", "x1", "y1")] + [("kind", "i8"), ("roof", "i8")])
"""A segment that a lead may cross; kinds as in ``lead_kernels``."""

SEG: Final = np.dtype([(name, "f8") for name in ("x0", "y0", "x1", "y1", "clearance")])
"""A segment that a footprint keeps its distance from."""

LOT: Final = np.dtype(
    [(name, "f8") for name in ("west", "south", "east", "north", "kept_all")]
    + [(name, "i8") for name in ("first_spout", "first_bar", "first_seg", "house_direction")]
)
"""A lot: bounds, the ``kept`` of all its downspouts, where its records begin (a last lot tells where all end), and the
direction of its longest wall."""

CLEAR, LOOK, STEEP = 0, 1, 2
"""Flags of an elevation cell: nothing, to look at (rather steep, or washed), and steeper than the
limit and its error."""


class World(NamedTuple):
    """Everything about the lots of a block.

    ``lot``, ``bits``: the ground mask. ``plane``: height of the fitted plane at each elevation cell [m], ``east``,
    ``rise_north``: its gradient, ``flags``: of each cell, ``ends``: what ends water's way there, or the
    building whose setback it is, ``direction``: where its water runs. ``cells`` .. ``core``: as in
    ``Templates``. ``limits``: scalars, see ``search_limits``.
    """

    lots: Any
    spouts: Any
    bars: Any
    segs: Any
    lot: NDArray[np.int32]
    bits: NDArray[np.uint32]
    plane: Floats
    east: Floats
    rise_north: Floats
    flags: NDArray[np.uint8]
    ends: NDArray[np.int32]
    direction: NDArray[np.uint8]
    cells: NDArray[np.int16]
    first_cell: NDArray[np.int64]
    rows: NDArray[np.int16]
    first_row: NDArray[np.int64]
    reached: NDArray[np.int16]
    sizes_m2: Floats
    aspects: Floats
    directions: Floats
    core: NDArray[np.int16]
    limits: Any


class Work(NamedTuple):
    """Arrays that one thread writes in: kernels that make none of their own count no references."""

    subsets: Floats
    flags: NDArray[np.int64]
    numbers: Floats
    place: NDArray[np.int64]
    chosen: NDArray[np.int64]
    span: NDArray[np.int64]
    level: NDArray[np.uint8]
    runs: NDArray[np.uint16]
    near: NDArray[np.int64]
    aside: Floats
    offsets: NDArray[np.int32]
    row_offsets: NDArray[np.int32]
    keys: NDArray[np.int64]
    state: NDArray[np.int8]
    close: NDArray[np.int8]
    warned: NDArray[np.int8]
    hopes: NDArray[np.int64]
    least: NDArray[np.int64]
    records: Floats
    leads: Floats


class Place(NamedTuple):
    """Where the cells of a block lie."""

    west: float
    north: float
    cell_x: float
    cell_y: float


SIGMAS: Final = 2.0
"""A limit fails beyond doubt when it fails by more than this many sigma."""
STEEPEST_SIGMAS: Final = 0.5
"""What the steepest of some cells is likely to owe to its error."""
OWN_EAVE_M: Final = 1.0
"""A lead keeps this far off the eaves of its own house, but for its first metres."""
ALTERNATE_DISTANCE_M: Final = 10.0
APART_M: Final = 2.0
ALTERNATES: Final = 2
STRIDE_M: Final = 1.0
FINE_M: Final = 0.25


def search_limits(
    rules: Rules, place: Place, shapes: Templates, *, closed_bits: np.uint32, look_bits: np.uint32
) -> NDArray[Any]:
    """Put the scalars of the search into one record: the rules in the form that it uses them in, and the cells."""
    storage = rules.ponding_depth_mm + rules.void_fraction * rules.bed_depth_mm
    wanted = max(rules.capture_depth_mm, rules.capture_depth_least_mm)
    mask_cell = 0.5 * max(place.cell_x, place.cell_y)
    reals = {
        **place._asdict(),
        "run_limit": rules.run_limit_m,
        "run_always": rules.run_always_m,
        "run_per_m2": rules.run_per_roof_m_per_m2,
        "own_wall": OWN_EAVE_M + rules.roof_overhang_m,
        "start_surface": rules.start_depth_surface_m,
        "start_shallow": rules.start_depth_shallow_m,
        "start_buried": rules.start_depth_buried_m,
        "freeboard_lead": rules.freeboard_lead_m,
        "grade": rules.lead_grade_pct / 100.0,
        "error": rules.elevation_error_m,
        "error_range": rules.elevation_error_range_m,
        "cut_most": rules.cut_most_m,
        "berm_most": rules.berm_height_most_m,
        "freeboard_berm": rules.berm_freeboard_mm / 1000.0,
        "wanted_m2_per_m2": rules.runoff_coefficient * wanted / storage,
        "least_m2_per_m2": rules.runoff_coefficient * rules.capture_depth_least_mm / storage,
        "draining_most": rules.draining_area_most_m2,
        "overflow_reach": rules.overflow_reach_m,
        "least_half_width": float(np.sqrt(shapes.aspects[:, 1] / (np.pi * shapes.aspects[:, 0])).min()),
        "ring": rules.berm_ring_m,
        "slope_look": rules.slope_look_pct,
        "slope_out": rules.slope_limit_pct + SIGMAS * rules.slope_error_pct,
        "alternate_distance": ALTERNATE_DISTANCE_M,
        "apart": APART_M,
    }
    whole = {
        "alternates": ALTERNATES,
        "gardens": rules.gardens_most,
        "stride": 2 if mask_cell < 0.75 * STRIDE_M else 1,
        "fine_parts": max(1, min(4, round(mask_cell / FINE_M))),
        "template_reach": shapes.reach,
        "core_between": shapes.core_between,
        "closed_bits": int(closed_bits),
        "look_bits": int(look_bits),
    }
    kind = np.dtype([(name, "f8") for name in reals] + [(name, "i8") for name in whole])
    record = np.rec.array(np.zeros(1, dtype=kind))
    for name, value in {**reals, **whole}.items():
        record[name] = value
    limits: NDArray[Any] = record[0]
    return limits


def cell_flags(rules: Rules, slope_pct: NDArray[Any], upslope_m2: NDArray[Any]) -> NDArray[np.uint8]:
    """Flags of elevation cells.

    The steepest of the cells under a footprint is steep in part by its error, so it counts less half a sigma; the
    slope at the centre counts whole.
    """
    slope_pct = slope_pct - STEEPEST_SIGMAS * rules.slope_error_pct
    steep = slope_pct > rules.slope_limit_pct + SIGMAS * rules.slope_error_pct
    look = (slope_pct >= rules.slope_look_pct) | (upslope_m2 >= rules.upslope_look_m2)
    flags: NDArray[np.uint8] = np.where(steep, STEEP, np.where(look, LOOK, CLEAR)).astype(np.uint8)
    return flags


def new_work(world: World, kept: int, centres: int = 512) -> Work:
    """Make the arrays that one thread writes in.

    Parameters
    ----------
    world
        What is searched.
    kept
        Candidates kept of a lot.
    centres
        Room for so many centres of one lot.
    """
    p, lots = world.limits, world.lots[:-1]
    border = 2 * p.template_reach
    rows = np.floor((lots.north - lots.south) / (0.5 * p.cell_y)).max(initial=0.0) + 2 + border
    columns = np.floor((lots.east - lots.west) / (0.5 * p.cell_x)).max(initial=0.0) + 2 + border + WIDTHS
    cells = int(rows * columns)
    segments = int(np.diff(world.lots.first_seg).max(initial=0))
    return Work(
        subsets=np.zeros((2**MOST_LEADS, 9)),
        flags=np.zeros(3, dtype=np.int64),
        numbers=np.zeros((4, DETAILS)),
        place=np.zeros(9, dtype=np.int64),
        chosen=np.zeros(kept, dtype=np.int64),
        span=np.zeros(4, dtype=np.int64),
        level=np.empty(cells, dtype=np.uint8),
        runs=np.empty((CLOSED, cells, 2), dtype=np.uint16),
        near=np.empty(segments, dtype=np.int64),
        aside=np.empty((segments, 3)),
        offsets=np.empty(len(world.cells), dtype=np.int32),
        row_offsets=np.empty(len(world.rows), dtype=np.int32),
        keys=np.empty(centres, dtype=np.int64),
        state=np.empty(centres, dtype=np.int8),
        close=np.empty(centres, dtype=np.int8),
        warned=np.empty(centres, dtype=np.int8),
        hopes=np.empty(centres, dtype=np.int64),
        least=np.empty(-(-centres // BLOCK), dtype=np.int64),
        records=np.empty((centres, RECORD)),
        leads=np.empty((centres * LEAD_ROWS, MOST_LEADS)),
    )


def rows_by_lot(lot: NDArray[Any], count: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Order of rows by lot, and the first of each lot, one more at the end."""
    order = np.argsort(lot, kind="stable")
    return order, np.searchsorted(lot[order], np.arange(count + 1)).astype(np.int64)
