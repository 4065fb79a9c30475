"""Footprints as flat arrays, and outlines back to polygons: the border between shapely and the kernels."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

__all__ = ["Footprints", "last_at_most", "polygons_of_loops", "ranges", "running_sums"]


@dataclass(frozen=True, eq=False)
class Footprints:
    """Polygons in flat arrays; edge i starts at corner i.

    Parameters
    ----------
    xy_m
        Corners, shape (N, 2): outer rings anticlockwise, holes clockwise, none closed, none doubled. [m]
    ring_offsets
        First corner of each ring, and N.
    piece_offsets
        First ring of each polygon, and the number of rings; the outer ring comes first.
    """

    xy_m: NDArray[np.float64]
    ring_offsets: NDArray[np.int64]
    piece_offsets: NDArray[np.int64]

    @classmethod
    def from_polygons(cls, polygons: NDArray[Any]) -> Footprints:
        """Lay out valid polygons.

        Parameters
        ----------
        polygons
            Shapely polygons, not empty, shape (P,).
        """
        if not len(polygons):
            return cls(np.empty((0, 2)), np.zeros(1, np.int64), np.zeros(1, np.int64))
        flat = shapely.force_2d(polygons) if shapely.has_z(polygons).any() else polygons
        _, xy, (rings, pieces) = shapely.to_ragged_array(shapely.orient_polygons(flat))
        rings = np.asarray(rings, np.int64)
        keep = np.ones(len(xy), dtype=bool)
        keep[:-1] = (xy[1:] != xy[:-1]).any(axis=1)
        keep[rings[1:] - 1] = False
        before = np.concatenate([[0], np.cumsum(keep)])
        return cls(np.ascontiguousarray(xy[keep]), before[rings], np.asarray(pieces, np.int64))

    def __len__(self) -> int:
        return len(self.piece_offsets) - 1

    @cached_property
    def edge_offsets(self) -> NDArray[np.int64]:
        """First edge of each polygon, and N."""
        return self.ring_offsets[self.piece_offsets]

    @cached_property
    def piece_of_edge(self) -> NDArray[np.int64]:
        """Polygon that each edge belongs to."""
        return np.repeat(np.arange(len(self)), np.diff(self.edge_offsets))

    @cached_property
    def on_hole(self) -> NDArray[np.bool_]:
        """Whether each edge belongs to a hole."""
        hole = np.ones(len(self.ring_offsets) - 1, dtype=bool)
        hole[self.piece_offsets[:-1]] = False
        return np.repeat(hole, np.diff(self.ring_offsets))

    @cached_property
    def ends(self) -> NDArray[np.int64]:
        """Corner at which each edge ends."""
        ends = np.arange(1, len(self.xy_m) + 1)
        ends[self.ring_offsets[1:] - 1] = self.ring_offsets[:-1]
        return ends

    @cached_property
    def befores(self) -> NDArray[np.int64]:
        """Edge that ends at each corner."""
        befores = np.empty_like(self.ends)
        befores[self.ends] = np.arange(len(self.ends))
        return befores

    def take(self, rows: NDArray[np.int64]) -> tuple[Footprints, NDArray[np.int64]]:
        """Some of the polygons, and which edges are theirs."""
        edges = ranges(self.edge_offsets[rows], self.edge_offsets[rows + 1])
        rings = ranges(self.piece_offsets[rows], self.piece_offsets[rows + 1])
        ring_sizes = np.diff(self.ring_offsets)[rings]
        counts = np.diff(self.piece_offsets)[rows]
        offsets = [np.concatenate([[0], np.cumsum(sizes)]) for sizes in (ring_sizes, counts)]
        return Footprints(self.xy_m[edges], offsets[0], offsets[1]), edges


def ranges(starts: NDArray[np.int64], stops: NDArray[np.int64]) -> NDArray[np.int64]:
    """The whole numbers of several ranges, one range after another."""
    sizes = stops - starts
    before = np.cumsum(sizes) - sizes
    return np.asarray(np.repeat(starts - before, sizes) + np.arange(sizes.sum()), np.int64)


def running_sums(values: NDArray[np.float64], offsets: NDArray[np.int64]) -> NDArray[np.float64]:
    """Sum of what comes before each value in its run, the same whatever other runs there are.

    Parameters
    ----------
    values
        Values of all runs, shape (K,).
    offsets
        First value of each run, and K.
    """
    sums = np.zeros(len(values))
    size = np.diff(offsets)
    for k in range(1, int(size.max(initial=0))):
        at = offsets[:-1][size > k] + k
        sums[at] = sums[at - 1] + values[at - 1]
    return sums


def last_at_most(
    values: NDArray[np.float64],
    offsets: NDArray[np.int64],
    run: NDArray[np.int64],
    most: NDArray[np.float64],
) -> NDArray[np.int64]:
    """Last value of a run that is at most some number, the same whatever other runs there are.

    Parameters
    ----------
    values
        Values of all runs, ascending within each, shape (K,).
    offsets
        First value of each run, and K.
    run, most
        Which run to look in, and the number, for each answer.

    Returns
    -------
    numpy.ndarray
        Index among all values; one before the run's first where all are greater.
    """
    low, high = offsets[run].copy(), offsets[run + 1].copy()
    open_ = np.flatnonzero(low < high)
    while len(open_):
        middle = (low[open_] + high[open_]) // 2
        up = values[middle] <= most[open_]
        low[open_[up]] = middle[up] + 1
        high[open_[~up]] = middle[~up]
        open_ = open_[low[open_] < high[open_]]
    return low - 1


def polygons_of_loops(
    xy_m: NDArray[np.float64], loop_offsets: NDArray[np.int64], share_loops: NDArray[np.int64]
) -> NDArray[Any]:
    """Make polygons, with holes or of several parts where need be, from outlines.

    Parameters
    ----------
    xy_m
        Corners of all outlines; outlines anticlockwise, holes clockwise, none closed. [m]
    loop_offsets
        First corner of each outline, and their number.
    share_loops
        First outline of each polygon, and the number of outlines.
    """
    count = np.diff(share_loops)
    if not len(count):
        return np.empty(0, dtype=object)
    sizes = np.diff(loop_offsets)
    closed = np.repeat(loop_offsets[:-1], sizes + 1)
    step = np.arange(len(closed)) - np.repeat(np.cumsum(sizes + 1) - (sizes + 1), sizes + 1)
    rings = shapely.linearrings(
        xy_m[closed + step % np.repeat(sizes, sizes + 1)], indices=np.repeat(np.arange(len(sizes)), sizes + 1)
    )
    polygons = np.empty(len(count), dtype=object)
    single = count == 1
    polygons[single] = shapely.polygons(rings[share_loops[:-1][single]])
    for i in np.flatnonzero(~single):
        polygons[i] = _nested(rings[share_loops[i] : share_loops[i + 1]])
    return polygons


def _nested(rings: NDArray[Any]) -> Any:
    """One polygon of several outlines: those that run clockwise are holes."""
    outer = shapely.polygons(rings[shapely.is_ccw(rings)])
    holes = np.asarray(shapely.polygons(rings[~shapely.is_ccw(rings)]))
    whole = shapely.union_all(outer)
    return shapely.difference(whole, shapely.union_all(holes)) if len(holes) else whole
