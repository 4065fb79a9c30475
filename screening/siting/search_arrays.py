"""What the search is given: flat arrays and scalars, bundled by what they are about."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from screening.rules import Rules
from screening.siting.kernels.centre_kernels import MOST_LEADS
from screening.siting.kernels.search_kernels import DETAILS
from screening.siting.templates import Templates

__all__ = ["Bars", "Cells", "Ground", "Limits", "Segs", "Spouts", "Work", "World", "new_work", "search_limits"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


class Spouts(NamedTuple):
    """Downspouts in order of their lots, those of lot i from ``first[i]`` to ``first[i + 1]``.

    ``kept``: share times the part of its water that reaches the drain today [m2]. ``roof``: number of the roof;
    ``start_mode``, ``start_consent``: what it stands on; ``house_direction``, one a lot: direction of the longest wall.
    """

    x: Floats
    y: Floats
    ground: Floats
    share: Floats
    share_low: Floats
    kept: Floats
    roof: Integers
    start_mode: Integers
    start_consent: Integers
    worth: NDArray[np.bool_]
    house_direction: Integers
    first: Integers


class Bars(NamedTuple):
    """Segments that a lead may cross: walls, lot lines, mains and easements, paving; see ``lead_kernels``."""

    x0: Floats
    y0: Floats
    x1: Floats
    y1: Floats
    kind: Integers
    roof: Integers
    first: Integers


class Segs(NamedTuple):
    """Segments that a footprint keeps its distance from."""

    x0: Floats
    y0: Floats
    x1: Floats
    y1: Floats
    clearance: Floats
    first: Integers


class Cells(NamedTuple):
    """Mask cells, and the bounds of the lots."""

    lot: NDArray[np.int32]
    bits: NDArray[np.uint32]
    closed_bits: np.uint32
    look_bits: np.uint32
    west: Floats
    east: Floats
    south: Floats
    north: Floats


class Ground(NamedTuple):
    """Elevation cells; ``plane`` is the height of the fitted plane at the cell's centre, ``upslope`` counts cells."""

    plane: Floats
    east: Floats
    rise_north: Floats
    slope_pct: Floats
    upslope: Integers
    enters: NDArray[np.int32]
    west: float
    north: float
    cell_x: float
    cell_y: float


class Limits(NamedTuple):
    """Scalars of the rules, in the form that the search uses them in."""

    run_limit: float
    run_always: float
    run_per_m2: float
    own_wall: float
    own_start: float
    start_depth: tuple[float, float, float]
    hump_cuts: tuple[float, float, float]
    hump_clear: float
    freeboard_lead: float
    grade: float
    error: float
    error_range: float
    cut_most: float
    berm_most: float
    freeboard_berm: float
    wanted_m2_per_m2: float
    least_m2_per_m2: float
    draining_most: float
    ring: float
    slope_look: float
    slope_out: float
    upslope_look: float
    cell_area: float
    flat_slope: float
    contour_slope: float
    alternate_distance: float
    apart: float
    alternates: int
    stride: int
    fine_parts: int


class World(NamedTuple):
    """Everything about the lots of a block."""

    spouts: Spouts
    bars: Bars
    segs: Segs
    mask: Cells
    ground: Ground
    shapes: Templates
    limits: Limits


class Work(NamedTuple):
    """Arrays that one thread writes in."""

    leads: Floats
    slots: Integers
    modes: Integers
    rooms: Floats
    flags: Integers
    trial: Floats
    out: Floats
    kept_all: Floats
    resume: Integers


OWN_WALL_M: Final = 1.0
"""A lead keeps this far off the walls of its own house,"""
OWN_START_M: Final = 3.0
"""but for its first metres."""
HUMP_CUTS_M: Final = (0.15, 0.30, 0.60)
"""Ground above the straight line from downspout to garden that a swale, a shallow and a buried pipe go through."""
HUMP_CLEAR_M: Final = 2.0
"""Length at both ends of a lead that is not looked at: the ground at a wall, and the garden."""
FLAT_SLOPE: Final = 0.015
"""Below it the contour says nothing, and a garden lies along the house. [m/m]"""
CONTOUR_SLOPE: Final = 0.05
"""Above it the long side keeps to the contour. [m/m]"""
SIGMAS: Final = 2.0
"""A limit fails beyond doubt when it fails by more than this many sigma."""
ALTERNATE_DISTANCE_M: Final = 10.0
APART_M: Final = 2.0
ALTERNATES: Final = 2
STRIDE_M: Final = 1.0
FINE_M: Final = 0.25


def search_limits(rules: Rules, cell_x_m: float, cell_y_m: float) -> Limits:
    """Take the limits of the search from the rules, for elevation cells of this size."""
    storage = rules.ponding_depth_mm + rules.void_fraction * rules.bed_depth_mm
    wanted = max(rules.capture_depth_mm, rules.capture_depth_least_mm)
    mask_cell = 0.5 * max(cell_x_m, cell_y_m)
    return Limits(
        run_limit=rules.run_limit_m,
        run_always=rules.run_always_m,
        run_per_m2=rules.run_per_roof_m_per_m2,
        own_wall=OWN_WALL_M,
        own_start=OWN_START_M,
        start_depth=(rules.start_depth_surface_m, rules.start_depth_shallow_m, rules.start_depth_buried_m),
        hump_cuts=HUMP_CUTS_M,
        hump_clear=HUMP_CLEAR_M,
        freeboard_lead=rules.freeboard_lead_m,
        grade=rules.lead_grade_pct / 100.0,
        error=rules.elevation_error_m,
        error_range=rules.elevation_error_range_m,
        cut_most=rules.cut_most_m,
        berm_most=rules.berm_height_most_m,
        freeboard_berm=rules.berm_freeboard_mm / 1000.0,
        wanted_m2_per_m2=rules.runoff_coefficient * wanted / storage,
        least_m2_per_m2=rules.runoff_coefficient * rules.capture_depth_least_mm / storage,
        draining_most=rules.draining_area_most_m2,
        ring=rules.berm_ring_m,
        slope_look=rules.slope_look_pct,
        slope_out=rules.slope_limit_pct + SIGMAS * rules.slope_error_pct,
        upslope_look=rules.upslope_look_m2,
        cell_area=cell_x_m * cell_y_m,
        flat_slope=FLAT_SLOPE,
        contour_slope=CONTOUR_SLOPE,
        alternate_distance=ALTERNATE_DISTANCE_M,
        apart=APART_M,
        alternates=ALTERNATES,
        stride=2 if mask_cell < 0.75 * STRIDE_M else 1,
        fine_parts=max(1, min(4, round(mask_cell / FINE_M))),
    )


def new_work() -> Work:
    """Make the arrays that one thread writes in."""
    return Work(
        leads=np.zeros((7, MOST_LEADS)),
        slots=np.zeros(MOST_LEADS, dtype=np.int64),
        modes=np.zeros(MOST_LEADS, dtype=np.int64),
        rooms=np.zeros(3),
        flags=np.zeros(3, dtype=np.int64),
        trial=np.zeros(DETAILS),
        out=np.zeros(DETAILS),
        kept_all=np.zeros(1),
        resume=np.zeros(1, dtype=np.int64),
    )


def rows_by_lot(lot: NDArray[Any], count: int) -> tuple[Integers, Integers]:
    """Order of rows by lot, and the first of each lot, one more at the end."""
    order = np.argsort(lot, kind="stable")
    return order, np.searchsorted(lot[order], np.arange(count + 1)).astype(np.int64)
