"""Downspouts along the gutters of roof pieces, and the part of the roof that each takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.roofs.division import divide_roofs
from screening.roofs.footprints import Footprints, polygons_of_loops
from screening.roofs.given import GivenSpouts
from screening.roofs.gutters import CORNER_M, COURT, PARTY, Gutters, follow_gutters, link_at
from screening.roofs.kernels.outlines import outlines_of_all
from screening.roofs.planes import RoofPlanes
from screening.roofs.sites import Sites, place_sites

__all__ = ["Shares", "Spouts", "share_planes"]


@dataclass(frozen=True, eq=False)
class Spouts:
    """Downspouts of many roof pieces, piece by piece.

    Parameters
    ----------
    offsets
        First downspout of each piece, and their number.
    number_given
        Number of the given downspout, or -1 where it was placed.
    xy_m, normal
        Where it meets the wall [m]; unit vector from the wall outward. Shape (S, 2).
    share_m2, low_m2, high_m2
        Roof share, and its range. [m2]
    """

    offsets: NDArray[np.int64]
    number_given: NDArray[np.int64]
    xy_m: NDArray[np.float64]
    normal: NDArray[np.float64]
    share_m2: NDArray[np.float64]
    low_m2: NDArray[np.float64]
    high_m2: NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Shares:
    """Parts of roof pieces: piece, downspout within it (-1 where not led), area [m2], polygon."""

    piece: NDArray[np.int64]
    spout: NDArray[np.int64]
    area_m2: NDArray[np.float64]
    polygons: NDArray[Any]


def share_planes(
    planes: RoofPlanes, kind: NDArray[np.int64], given: GivenSpouts, run_most_m: float
) -> tuple[Spouts, Shares]:
    """Place downspouts and share the planes out to them.

    Each eave drains to the downspouts at the ends of its gutter, half its roof area to each; valleys drain to the
    inside corner and on along the gutter. Where more than one plane lies between two downspouts, their whole is
    halved. What drains to an inner court is one share a court, not led.

    Parameters
    ----------
    planes
        The planes.
    kind
        EAVE, COURT, GABLE or PARTY for each edge.
    given
        Given downspouts.
    run_most_m
        Longest gutter run to one downspout. [m]
    """
    feet = planes.footprints
    if not len(feet):
        whole, real = np.empty(0, np.int64), np.empty(0)
        places, polygons = np.empty((0, 2)), np.empty(0, dtype=object)
        nothing = Spouts(np.zeros(1, np.int64), whole, places, places, real, real, real)
        return nothing, Shares(whole, whole, real, polygons)
    gutters = follow_gutters(feet, kind)
    sites = place_sites(feet, gutters, given, run_most_m)
    division = divide_roofs(planes, gutters, sites, run_most_m)
    offsets = np.searchsorted(gutters.piece[sites.gutter], np.arange(len(feet) + 1))
    xy_m, normal = _stand(feet, kind, gutters, sites)
    owner, extra_m2 = _own_all(planes, kind, offsets, xy_m, division.owner)
    cut_owner = division.cut_owner - offsets[feet.piece_of_edge[division.cut_edge]]
    cuts = np.column_stack([division.cut_edge, cut_owner])
    corners, loops, areas = _outlines(planes, owner, cuts, division.cut_at_m)
    shares = _shares(corners, loops, areas, np.diff(offsets))
    led = shares.spout >= 0
    share = np.zeros(len(xy_m))
    share[offsets[shares.piece[led]] + shares.spout[led]] = shares.area_m2[led]
    low, high = np.minimum(division.low_m2 + extra_m2, share), np.maximum(division.high_m2 + extra_m2, share)
    return Spouts(offsets, sites.given, xy_m, normal, share, low, high), shares


def _outlines(
    planes: RoofPlanes, owner: NDArray[np.int64], cuts: NDArray[np.int64], cut_at_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.float64]]:
    """Corners, ends and areas of the outlines of all shares."""
    feet = planes.footprints
    first = feet.edge_offsets
    added = 4 * np.diff(planes.ring_starts)[cuts[:, 0]] + 16
    added = np.bincount(feet.piece_of_edge[cuts[:, 0]], weights=added, minlength=len(feet)).astype(np.int64)
    most = int((np.diff(planes.ring_starts[first]) + np.diff(planes.node_offsets) + added).max())
    room = len(planes.rings) + int(added.sum())
    corners, loops, areas = np.empty((room, 2)), np.empty((room // 3 + 1, 3), np.int64), np.empty(room // 3 + 1)
    count = outlines_of_all(
        feet.xy_m,
        feet.ends,
        first,
        owner,
        cuts,
        cut_at_m,
        planes.nodes,
        planes.node_offsets,
        planes.rings,
        planes.ring_starts,
        np.empty((most, 4), np.int64),
        np.empty((most, 2)),
        np.empty(most, np.int64),
        np.empty(4),
        corners,
        loops,
        areas,
    )
    return corners, loops[:count], areas[:count]


def _shares(
    corners: NDArray[np.float64], loops: NDArray[np.int64], areas: NDArray[np.float64], spouts: NDArray[np.int64]
) -> Shares:
    """Gather outlines into shares."""
    new = np.ones(len(loops), dtype=bool)
    new[1:] = (loops[1:, :2] != loops[:-1, :2]).any(axis=1)
    starts = np.flatnonzero(new)
    piece, owner = loops[starts, 0], loops[starts, 1]
    area = np.add.reduceat(areas, starts) if len(starts) else np.empty(0)
    polygons = polygons_of_loops(corners, np.concatenate([[0], loops[:, 2]]), np.append(starts, len(loops)))
    return Shares(piece, np.where(owner < spouts[piece], owner, -1), area, polygons)


def _stand(
    feet: Footprints, kind: NDArray[np.int64], gutters: Gutters, sites: Sites
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Place and outward normal of each downspout: at a corner of two outside walls, between both."""
    link = link_at(gutters, sites.gutter, sites.at_m)
    edge, s = gutters.edge[link], np.maximum(sites.at_m - gutters.start_m[link], 0.0)
    along = feet.xy_m[feet.ends] - feet.xy_m
    length = np.hypot(*along.T)
    unit = along / length[:, np.newaxis]
    outward = np.column_stack([unit[:, 1], -unit[:, 0]])
    at_start, at_end = s < CORNER_M, s > length[edge] - CORNER_M
    xy = feet.xy_m[edge] + s[:, np.newaxis] * unit[edge]
    xy[at_start] = feet.xy_m[edge[at_start]]
    xy[at_end] = feet.xy_m[feet.ends[edge[at_end]]]
    beside = np.select([at_start, at_end], [feet.befores[edge], feet.ends[edge]], edge)
    both = outward[edge] + np.where((kind[beside] == PARTY)[:, np.newaxis], outward[edge], outward[beside])
    size = np.hypot(*both.T)
    sharp = size < CORNER_M
    normal = np.where(sharp[:, np.newaxis], outward[edge], both / np.where(sharp, 1.0, size)[:, np.newaxis])
    return xy, normal


def _own_all(
    planes: RoofPlanes,
    kind: NDArray[np.int64],
    offsets: NDArray[np.int64],
    xy_m: NDArray[np.float64],
    owner: NDArray[np.int64],
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Owner of every plane, counted within its piece, and what downspouts get beyond their gutters [m2].

    After a piece's downspouts come its courts, ring by ring, and last nobody. Planes of party walls that had to be
    sloped go to the nearest downspout.
    """
    feet = planes.footprints
    piece = feet.piece_of_edge
    spouts = np.diff(offsets)
    ring = np.repeat(np.arange(len(feet.ring_offsets) - 1), np.diff(feet.ring_offsets))
    court = spouts[piece] + ring - feet.piece_offsets[piece] - 1
    owner = np.where(kind == COURT, court, np.where(owner >= 0, owner - offsets[piece], -1))
    extra = np.zeros(len(xy_m))
    for e in np.flatnonzero((kind == PARTY) & (planes.area_m2 > 0.0)):
        p = piece[e]
        owner[e] = spouts[p] + feet.piece_offsets[p + 1] - feet.piece_offsets[p] - 1
        if spouts[p]:
            middle = 0.5 * (feet.xy_m[e] + feet.xy_m[feet.ends[e]])
            owner[e] = np.argmin(np.hypot(*(xy_m[offsets[p] : offsets[p + 1]] - middle).T))
            extra[offsets[p] + owner[e]] += planes.area_m2[e]
    return owner, extra
