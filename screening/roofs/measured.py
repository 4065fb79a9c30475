"""Roof kinds read off a surface raster: which way the roof's cells fall, beside what each kind of roof would show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from affine import Affine
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints
from screening.roofs.gables import Sides, gable_edges
from screening.roofs.planes import roof_planes
from screening.sources import rasterized

__all__ = ["Falls", "Surface", "measure_falls", "measure_kinds"]

BINS: Final = 36
"""Directions that falls are counted in: 10 degrees each."""
FLAT_SLOPE: Final = 0.10
"""A cell that falls less than this is flat [m/m]."""
FLAT_SHARE: Final = 0.6
"""A roof of which more than this is flat is flat."""
BENT_MOST: Final = 0.3
"""A cell whose slope changes by more than this across it lies on no plane: a ridge, a chimney, a tree [m/m]."""
PLANE_SHARE: Final = 0.4
"""A roof of which less than this lies on planes tells nothing."""
CELLS_LEAST: Final = 12
"""Fewer cells inside a roof tell nothing of it."""
MISFIT_MOST: Final = 0.25
"""Share of a roof's fall that may go another way than a kind of roof says, for that kind to be taken."""
RIGHT_WAY_DEG: Final = 45.0
"""A cell that falls within this of its plane's way falls the right way."""
SAME_WAY_DEG: Final = 10.0
"""Edges that face within this of each other face one way."""


@dataclass(frozen=True, eq=False)
class Surface:
    """Heights of the surface, roofs and trees on it [m], NaN where there is none, and where its cells lie."""

    heights_m: NDArray[Any]
    transform: Affine


@dataclass(frozen=True, eq=False)
class Falls:
    """Which way the cells of roofs fall.

    Parameters
    ----------
    cells, plane, flat
        Cells inside each roof; those on planes; the flat ones of these. Shape (R,).
    roof, row, column, way_deg
        Of each cell on a plane that is not flat: its roof, its place, and the way it falls, anticlockwise from east.
    """

    cells: NDArray[np.int64]
    plane: NDArray[np.int64]
    flat: NDArray[np.int64]
    roof: NDArray[np.int64]
    row: NDArray[np.int64]
    column: NDArray[np.int64]
    way_deg: NDArray[np.float64]

    def ways(self, rows: NDArray[np.int64]) -> NDArray[np.float64]:
        """Cells of some roofs by the way they fall, in BINS from east on, shape (len(rows), BINS)."""
        bins = (self.way_deg * (BINS / 360.0)).astype(np.int64) % BINS
        count = np.bincount(self.roof * BINS + bins, minlength=len(self.cells) * BINS)
        return count.reshape(-1, BINS)[rows].astype(np.float64)


def measure_falls(surface: Surface, roofs: NDArray[Any]) -> Falls:
    """Count which way the cells of each roof fall.

    Cells count whose four neighbours belong to the same roof, so that walls do not, and that lie on a plane with them.

    Parameters
    ----------
    surface
        The surface raster.
    roofs
        Polygons, shape (R,).
    """
    count, z = len(roofs), np.asarray(surface.heights_m, np.float64)
    shape = z.shape
    label = np.zeros(shape, np.int32)
    if count:
        label = rasterized(
            zip(roofs, range(1, count + 1), strict=True), out_shape=shape, transform=surface.transform, dtype="int32"
        )
    inner = label[1:-1, 1:-1]
    middle, east, west, north, south = z[1:-1, 1:-1], z[1:-1, 2:], z[1:-1, :-2], z[:-2, 1:-1], z[2:, 1:-1]
    inside = inner > 0
    for side in (label[1:-1, 2:], label[1:-1, :-2], label[:-2, 1:-1], label[2:, 1:-1]):
        inside &= side == inner
    inside &= np.isfinite(middle + east + west + north + south)
    cells = np.bincount(inner[inside].astype(np.int64) - 1, minlength=count)
    cell_x, cell_y = surface.transform.a, -surface.transform.e
    with np.errstate(invalid="ignore"):
        bent = np.maximum(np.abs(east + west - 2.0 * middle) / cell_x, np.abs(north + south - 2.0 * middle) / cell_y)
        inside &= bent <= BENT_MOST
    roof = inner[inside].astype(np.int64) - 1
    down_x = (west - east)[inside] / (2.0 * cell_x)
    down_y = (south - north)[inside] / (2.0 * cell_y)
    flat = np.hypot(down_x, down_y) < FLAT_SLOPE
    row, column = np.nonzero(inside)
    way = np.degrees(np.arctan2(down_y, down_x)) % 360.0
    plane, level = np.bincount(roof, minlength=count), np.bincount(roof[flat], minlength=count)
    return Falls(cells, plane, level, roof[~flat], row[~flat] + 1, column[~flat] + 1, way[~flat])


def measure_kinds(
    feet: Footprints, sides: Sides, falls: Falls, surface: Surface, asked: NDArray[np.bool_]
) -> tuple[NDArray[Any], NDArray[np.bool_]]:
    """Tell what kind of roof the surface shows.

    A roof is flat where most of it is; else its falls are compared with those of a hip roof, of a gable roof, and,
    where it has four sides, of a gable roof with its ridge the other way and of one slope to each side. The kind with
    the smallest share of falls the wrong way is taken, unless even that is poor. Hips and gables on an L show the same
    falls in sum, so between these the places of the cells decide.

    Parameters
    ----------
    feet, sides
        Footprints of whole roofs, one polygon each, and their sides.
    falls, surface
        As ``measure_falls`` counts them, and what it counted them on.
    asked
        Roofs to tell the kind of, shape (R,).

    Returns
    -------
    kind
        hip, gable, flat or one slope for each roof; None where the surface does not tell.
    gable
        Whether each edge stands still, shape (N,).
    """
    told = asked & (falls.cells >= CELLS_LEAST) & (falls.plane > PLANE_SHARE * falls.cells)
    kind: NDArray[Any] = np.full(len(feet), None, dtype=object)
    flat = told & (falls.flat > FLAT_SHARE * falls.plane)
    kind[flat] = "flat"
    gable = np.zeros(len(feet.xy_m), dtype=bool)
    rows = np.flatnonzero(told & ~flat)
    if not len(rows):
        return kind, gable
    part, edges = feet.take(rows)
    nearest, measured = _faced(part, falls.ways(rows))
    names, still, valid = _candidates(feet, sides, rows, edges)
    misfit = np.full((len(names), len(rows)), np.inf)
    for i in range(len(names)):
        area = roof_planes(part, np.where(still[i], 0.0, 1.0)).area_m2
        shown = _shares(part, np.bincount(nearest, weights=area, minlength=len(edges)))
        wrong = 0.5 * np.add.reduceat(np.abs(shown - measured), part.edge_offsets[:-1])
        misfit[i] = np.where(valid[i], wrong, np.inf)
    best = misfit.argmin(axis=0)
    best = _settle_by_place(part, rows, falls, still, best, surface)
    good = misfit.min(axis=0) <= MISFIT_MOST
    kind[rows[good]] = np.array(names, dtype=object)[best[good]]
    chosen = np.stack(still)[best[part.piece_of_edge], np.arange(len(edges))]
    gable[edges] = chosen & good[part.piece_of_edge]
    return kind, gable


def _settle_by_place(
    part: Footprints,
    rows: NDArray[np.int64],
    falls: Falls,
    still: list[NDArray[np.bool_]],
    best: NDArray[np.int64],
    surface: Surface,
) -> NDArray[np.int64]:
    """Between hip (0) and gable (1), the one more of whose cells fall as the planes that they lie on."""
    open_ = np.flatnonzero((best <= 1) & (np.bincount(part.piece_of_edge, weights=still[1]) > 0))
    if not len(open_):
        return best
    feet, edges = part.take(open_)
    number = np.full(len(falls.cells), -1, np.int64)
    number[rows[open_]] = np.arange(len(open_))
    of_cell = number[falls.roof]
    cell = np.flatnonzero(of_cell >= 0)
    along = feet.xy_m[feet.ends] - feet.xy_m
    facing = np.degrees(np.arctan2(-along[:, 0], along[:, 1])) % 360.0
    agree = np.zeros((2, len(open_)))
    for k in (0, 1):
        shapes, edge = roof_planes(feet, np.where(still[k][edges], 0.0, 1.0)).polygons()
        label = rasterized(
            zip(shapes, edge + 1, strict=True),
            out_shape=surface.heights_m.shape,
            transform=surface.transform,
            dtype="int32",
        )
        found = label[falls.row[cell], falls.column[cell]] - 1
        apart = np.abs((facing[found] - falls.way_deg[cell] + 180.0) % 360.0 - 180.0)
        right = (found >= 0) & (apart <= RIGHT_WAY_DEG)
        agree[k] = np.bincount(of_cell[cell], weights=right, minlength=len(open_))
    settled = best.copy()
    settled[open_] = agree.argmax(axis=0)
    return settled


def _shares(feet: Footprints, values: NDArray[Any]) -> NDArray[np.float64]:
    """Each edge's part of its roof's sum."""
    total = np.add.reduceat(values, feet.edge_offsets[:-1])[feet.piece_of_edge]
    return values / np.where(total > 0.0, total, 1.0)


def _faced(feet: Footprints, ways: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """First edge of its roof that faces the same way as each edge; the share of the fall towards each such edge."""
    along = feet.xy_m[feet.ends] - feet.xy_m
    facing = np.degrees(np.arctan2(-along[:, 0], along[:, 1])) % 360.0
    size = np.diff(feet.edge_offsets)
    first = feet.edge_offsets[:-1]
    nearest = np.arange(len(facing))
    for k in range(int(size.max()) - 1, -1, -1):
        other = np.minimum(first + k, first + size - 1)[feet.piece_of_edge]
        apart = np.abs((facing[other] - facing + 180.0) % 360.0 - 180.0)
        nearest = np.where((apart <= SAME_WAY_DEG) & (other < nearest), other, nearest)
    middle = (np.arange(BINS) + 0.5) * 360.0 / BINS
    least, faced = np.full(ways.shape, np.inf), np.zeros(ways.shape, np.int64)
    for k in range(int(size.max())):
        edge = np.minimum(first + k, first + size - 1)
        apart = np.abs((facing[edge][:, np.newaxis] - middle + 180.0) % 360.0 - 180.0)
        faced = np.where(apart < least, nearest[edge][:, np.newaxis], faced)
        least = np.minimum(apart, least)
    counts = np.bincount(faced.ravel(), weights=ways.ravel(), minlength=len(facing))
    return nearest, _shares(feet, counts)


def _candidates(
    feet: Footprints, sides: Sides, rows: NDArray[np.int64], edges: NDArray[np.int64]
) -> tuple[list[str], list[NDArray[np.bool_]], list[NDArray[np.bool_]]]:
    """Kinds to compare: name, which edges stand still, and for which roofs it makes sense."""
    count = np.diff(sides.offsets)[rows]
    rule = gable_edges(feet, sides)[edges]
    outer = ~feet.on_hole[edges]
    row_of_edge = np.repeat(np.arange(len(rows)), np.diff(feet.edge_offsets)[rows])
    has_gable = np.bincount(row_of_edge, weights=rule, minlength=len(rows)) > 0
    square = count == 4
    names = ["hip", "gable", "gable"]
    still = [np.zeros(len(edges), dtype=bool), rule, outer & ~rule]
    valid = [np.ones(len(rows), dtype=bool), has_gable, square & has_gable]
    for k in range(4):
        side = sides.of_edge[edges] - sides.offsets[rows][row_of_edge]
        names.append("one slope")
        still.append(outer & (side != k))
        valid.append(square)
    return names, still, valid
