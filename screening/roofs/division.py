"""Where the roof above a gutter divides among its downspouts, and how much of it each gets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from screening.roofs.footprints import last_at_most, ranges, running_sums
from screening.roofs.gutters import CORNER_M, Gutters, link_at
from screening.roofs.planes import RoofPlanes
from screening.roofs.sites import Sites

__all__ = ["Division", "area_before", "divide_roofs", "place_of_area", "share_ranges"]

TINY: Final = 1e-8
"""Areas under this are nothing [m2]."""


@dataclass(frozen=True, eq=False)
class Division:
    """Who owns which part of each plane.

    Parameters
    ----------
    low_m2, high_m2
        Range of each downspout's share. [m2]
    owner
        Downspout that owns each plane before its first cut, -1 where there is none, shape (N,).
    cut_edge, cut_owner, cut_at_m
        Planes that are cut square to their eaves, in order along the gutters: edge, downspout that owns the plane past
        the cut, place along the edge [m].
    """

    low_m2: NDArray[np.float64]
    high_m2: NDArray[np.float64]
    owner: NDArray[np.int64]
    cut_edge: NDArray[np.int64]
    cut_owner: NDArray[np.int64]
    cut_at_m: NDArray[np.float64]


def divide_roofs(planes: RoofPlanes, gutters: Gutters, sites: Sites, run_most_m: float) -> Division:
    """Halve the roof between neighbouring downspouts.

    Parameters
    ----------
    planes, gutters, sites
        Planes of the pieces, their gutters, and the downspouts along these.
    run_most_m
        Longest gutter run to one downspout. [m]
    """
    roof = _roof_along(planes, gutters)
    reach = _reach(planes, gutters, sites, roof)
    a, b, gap = sites.around(gutters)
    two = a != b
    a, b, gap = a[two], b[two], gap[two]
    gutter = sites.gutter[a]
    whole = roof.whole_m2[gutter]
    stretch = reach[b] - reach[a] + np.where(b < a, whole, 0.0)
    low, high = share_ranges(sites, a, b, stretch, gap, run_most_m)
    _add_ends(low, high, reach, gutters, sites, roof)
    at = reach[a] + 0.5 * stretch
    at = np.where(at >= whole, at - whole, at)
    order = np.lexsort((at, gutter))
    at, after, gutter = at[order], b[order], gutter[order]
    owner, is_cut, link = _owners(gutters, sites, roof, at, after, gutter)
    edge = gutters.edge[link[is_cut]]
    place = place_of_area(planes, edge, at[is_cut] - roof.before_m2[link[is_cut]])
    owners = np.full(len(planes.area_m2), -1, np.int64)
    owners[gutters.edge] = owner
    return Division(low, high, owners, edge, after[is_cut], place)


@dataclass(frozen=True, eq=False)
class _RoofAlong:
    """Roof area before each link of its gutter, of each link, of each gutter [m2]."""

    before_m2: NDArray[np.float64]
    link_m2: NDArray[np.float64]
    whole_m2: NDArray[np.float64]


def _roof_along(planes: RoofPlanes, gutters: Gutters) -> _RoofAlong:
    """Add up the planes along each gutter."""
    area = planes.area_m2[gutters.edge]
    before = running_sums(area, gutters.offsets)
    whole = (before + area)[gutters.offsets[1:] - 1]
    return _RoofAlong(before, area, whole)


def share_ranges(
    sites: Sites,
    a: NDArray[np.int64],
    b: NDArray[np.int64],
    stretch_m2: NDArray[np.float64],
    gap_m: NDArray[np.float64],
    run_most_m: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Range of the shares of roof stretches between neighbouring downspouts.

    Between two given downspouts the gutter falls both ways and each gets half. Where one of the two was placed it may
    not be there, so that all may go to the given one; where both were, all may go to either. But no more goes to one
    than what the longest run holds.

    Returns
    -------
    low_m2, high_m2
        For each downspout. [m2]
    """
    most = np.clip(run_most_m / np.maximum(gap_m, CORNER_M), 0.5, 1.0)
    low, high = np.zeros(len(sites.gutter)), np.zeros(len(sites.gutter))
    for one, other in ((a, b), (b, a)):
        one_given, other_given = sites.given[one] >= 0, sites.given[other] >= 0
        low += _summed(one, stretch_m2 * np.where(one_given, 0.5, 1.0 - most), len(low))
        high += _summed(one, stretch_m2 * np.where(other_given, 0.5, most), len(low))
    return low, high


def _summed(index: NDArray[np.int64], values: NDArray[np.float64], size: int) -> NDArray[np.float64]:
    return np.asarray(np.bincount(index, weights=values, minlength=size), np.float64)


def _reach(planes: RoofPlanes, gutters: Gutters, sites: Sites, roof: _RoofAlong) -> NDArray[np.float64]:
    """Roof area that drains to each downspout's gutter before it [m2]."""
    link = link_at(gutters, sites.gutter, sites.at_m)
    s = sites.at_m - gutters.start_m[link]
    reach = roof.before_m2[link]
    inside = np.flatnonzero(s > CORNER_M)
    reach[inside] += area_before(planes, gutters.edge[link[inside]], s[inside])
    return reach


def _add_ends(
    low: NDArray[np.float64],
    high: NDArray[np.float64],
    reach: NDArray[np.float64],
    gutters: Gutters,
    sites: Sites,
    roof: _RoofAlong,
) -> None:
    """Add to the ranges what only one downspout can take: the ends of a gutter, or a whole loop with one downspout."""
    number = np.arange(len(gutters.piece))
    head = np.searchsorted(sites.gutter, number)
    tail = np.searchsorted(sites.gutter, number, side="right") - 1
    alone = gutters.closed & (head == tail)
    first = np.where(gutters.closed, np.where(alone, roof.whole_m2, 0.0), reach[head])
    last = np.where(gutters.closed, 0.0, roof.whole_m2 - reach[tail])
    for values in (low, high):
        values += _summed(head, first, len(low)) + _summed(tail, last, len(low))


def _owners(
    gutters: Gutters,
    sites: Sites,
    roof: _RoofAlong,
    at: NDArray[np.float64],
    after: NDArray[np.int64],
    gutter: NDArray[np.int64],
) -> tuple[NDArray[np.int64], NDArray[np.bool_], NDArray[np.int64]]:
    """First owner of each link's plane; whether each divide cuts a plane, and which link's."""
    of_link = gutters.of_link
    link = last_at_most(roof.before_m2, gutters.offsets, gutter, at + TINY)
    link = np.maximum(link, gutters.offsets[gutter])
    into = at - roof.before_m2[link]
    is_cut = (into > TINY) & (into < roof.link_m2[link] - TINY)
    offsets = np.searchsorted(gutter, np.arange(len(gutters.piece) + 1))
    passed = last_at_most(at, offsets, of_link, roof.before_m2 + TINY)
    first, last = offsets[of_link], offsets[of_link + 1] - 1
    found = np.where(passed >= first, passed, np.where(gutters.closed[of_link], last, -1))
    found = np.where(last < first, -1, found)
    lone = np.searchsorted(sites.gutter, of_link)
    owner = np.where(found >= 0, np.append(after, 0)[found], lone)
    return owner, is_cut, link


def _frames(
    planes: RoofPlanes, edges: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    """Sides of the planes of some edges: which edge's, ends along and above that eave (shape (2, K)), first of each."""
    feet = planes.footprints
    starts, stops = planes.ring_starts[edges], planes.ring_starts[edges + 1]
    size = stops - starts
    at = ranges(starts, stops)
    of = np.repeat(np.arange(len(edges)), size)
    first = np.cumsum(size) - size
    piece = feet.piece_of_edge[edges]
    nodes = planes.nodes[planes.node_offsets[piece][of] + planes.rings[at], :2]
    origin = feet.xy_m[edges] - feet.xy_m[feet.edge_offsets[piece]]
    along = feet.xy_m[feet.ends[edges]] - feet.xy_m[edges]
    unit = along / np.hypot(*along.T)[:, np.newaxis]
    off = nodes - origin[of]
    s = off[:, 0] * unit[of, 0] + off[:, 1] * unit[of, 1]
    h = off[:, 1] * unit[of, 0] - off[:, 0] * unit[of, 1]
    after = np.arange(len(at)) + 1
    after[first + size - 1] = first
    return of, np.stack([s, s[after]]), np.stack([h, h[after]]), first, size


def _clipped(s: NDArray[np.float64], h: NDArray[np.float64], cut: NDArray[np.float64]) -> NDArray[np.float64]:
    """Area under sides (ends along and above the eave, shape (2, K)), as far as a place along it; downward positive."""
    run = s[1] - s[0]
    slope = (h[1] - h[0]) / np.where(run == 0.0, 1.0, run)
    to = np.minimum(s, cut)
    height = h[0] + slope * (to - s[0])
    return np.where(run == 0.0, 0.0, -0.5 * (height[0] + height[1]) * (to[1] - to[0]))


def area_before(planes: RoofPlanes, edges: NDArray[np.int64], s_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Area of the part of each edge's plane that lies before a place along its eave [m2]."""
    if not len(edges):
        return np.empty(0)
    of, s, h, first, _ = _frames(planes, edges)
    return np.add.reduceat(_clipped(s, h, s_m[of]), first)


def place_of_area(planes: RoofPlanes, edges: NDArray[np.int64], wanted_m2: NDArray[np.float64]) -> NDArray[np.float64]:
    """Place along each edge before which its plane has the wanted area [m].

    Between the places of two nodes the area is a quadratic of the place.
    """
    if not len(edges):
        return np.empty(0)
    of, s, h, first, size = _frames(planes, edges)
    node = np.repeat(np.arange(len(of)), size[of])
    side = ranges(first[of], first[of] + size[of])
    area = np.add.reduceat(_clipped(s[:, side], h[:, side], s[0][node]), np.cumsum(size[of]) - size[of])
    below = area <= wanted_m2[of]
    low = np.maximum.reduceat(np.where(below, s[0], -np.inf), first)
    high = np.minimum.reduceat(np.where(below, np.inf, s[0]), first)
    low = np.where(np.isfinite(low), low, np.minimum.reduceat(s[0], first))
    high = np.where(np.isfinite(high), high, np.maximum.reduceat(s[0], first))
    a0, am, a1 = (
        np.add.reduceat(_clipped(s, h, (low + f * (high - low))[of]), first) - wanted_m2 for f in (0.0, 0.5, 1.0)
    )
    square, linear = 2.0 * a0 - 4.0 * am + 2.0 * a1, -3.0 * a0 + 4.0 * am - a1
    root = linear + np.sqrt(np.maximum(linear * linear - 4.0 * square * a0, 0.0))
    share = np.where(root > 0.0, -2.0 * a0 / np.where(root > 0.0, root, 1.0), 0.0)
    return np.asarray(low + (high - low) * np.clip(share, 0.0, 1.0), np.float64)
