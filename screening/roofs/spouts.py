"""Downspouts along the gutters of roof pieces, and the part of the roof that each takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints, polygons_of_loops
from screening.roofs.given import GivenSpouts
from screening.roofs.kernels.chains import sites_of_all
from screening.roofs.kernels.divide import HIGH, LOW, divide_all
from screening.roofs.kernels.gutters import COURT, PARTY
from screening.roofs.kernels.outlines import outlines_of_all
from screening.roofs.planes import RoofPlanes

__all__ = ["Shares", "Spouts", "share_planes"]

CORNER_M = 1e-6
"""A downspout this near to a corner stands at it [m]."""


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
    first = feet.edge_offsets
    if not len(feet):
        whole, real = np.empty(0, np.int64), np.empty(0)
        places, polygons = np.empty((0, 2)), np.empty(0, dtype=object)
        nothing = Spouts(np.zeros(1, np.int64), whole, places, places, real, real, real)
        return nothing, Shares(whole, whole, real, polygons)
    outer = np.column_stack([first[:-1], feet.ring_offsets[feet.piece_offsets[:-1] + 1]])
    along = np.hypot(*(feet.xy_m[feet.ends] - feet.xy_m).T)
    room = 4 * len(feet.xy_m) + 4 * len(given.edge) + int(2.0 * along.sum() / run_most_m) + 8 * len(feet) + 64
    given_edge = given.edge + first[np.repeat(np.arange(len(feet)), np.diff(given.offsets))]
    chains, sites, offsets = sites_of_all(
        feet.xy_m, feet.ends, outer, kind, given.offsets, given_edge, given.at_m, run_most_m, room
    )
    planes_of = (planes.area_m2, planes.nodes, planes.node_offsets, planes.rings, planes.ring_starts)
    found, owner, cuts, cut_at = divide_all(feet.xy_m, feet.ends, first, chains, sites, offsets, *planes_of, run_most_m)
    xy_m, normal = _stand(feet, kind, outer, chains, sites, along)
    _own_the_rest(planes, kind, offsets, xy_m, owner, found)
    corners, loops, areas = outlines_of_all(feet.xy_m, feet.ends, first, owner, cuts, cut_at, *planes_of[1:])
    shares = _shares(corners, loops, areas, np.diff(offsets))
    led = shares.spout >= 0
    share = np.zeros(len(sites))
    share[offsets[shares.piece[led]] + shares.spout[led]] = shares.area_m2[led]
    low, high = np.minimum(found[:, LOW], share), np.maximum(found[:, HIGH], share)
    return Spouts(offsets, sites[:, 1].astype(np.int64), xy_m, normal, share, low, high), shares


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
    feet: Footprints,
    kind: NDArray[np.int64],
    outer: NDArray[np.int64],
    chains: NDArray[np.int64],
    sites: NDArray[np.float64],
    along_m: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Place and outward normal of each downspout: at a corner of two outside walls, between both."""
    count = chains[:, 2]
    piece = np.repeat(chains[:, 0], count)
    last = np.cumsum(count)
    step = np.arange(count.sum()) - np.repeat(last - count, count)
    size = outer[:, 1] - outer[:, 0]
    edges = outer[piece, 0] + (np.repeat(chains[:, 1], count) - outer[piece, 0] + step) % size[piece]
    reached = np.cumsum(along_m[edges]) - along_m[edges]
    chain = np.repeat(np.arange(len(chains)), chains[:, 5])
    at = sites[:, 0] + reached[(last - count)[chain]]
    link = np.searchsorted(reached, at + CORNER_M, side="right") - 1
    link = np.clip(link, (last - count)[chain], last[chain] - 1)
    edge, s = edges[link], np.maximum(at - reached[link], 0.0)
    unit = (feet.xy_m[feet.ends] - feet.xy_m) / along_m[:, np.newaxis]
    outward = np.column_stack([unit[:, 1], -unit[:, 0]])
    at_start, at_end = s < CORNER_M, s > along_m[edge] - CORNER_M
    xy = feet.xy_m[edge] + s[:, np.newaxis] * unit[edge]
    xy[at_start] = feet.xy_m[edge[at_start]]
    xy[at_end] = feet.xy_m[feet.ends[edge[at_end]]]
    beside = np.select([at_start, at_end], [feet.befores[edge], feet.ends[edge]], edge)
    both = outward[edge] + np.where((kind[beside] == PARTY)[:, np.newaxis], outward[edge], outward[beside])
    length = np.hypot(*both.T)
    sharp = length < CORNER_M
    normal = np.where(sharp[:, np.newaxis], outward[edge], both / np.where(sharp, 1.0, length)[:, np.newaxis])
    return xy, normal


def _own_the_rest(
    planes: RoofPlanes,
    kind: NDArray[np.int64],
    offsets: NDArray[np.int64],
    xy_m: NDArray[np.float64],
    owner: NDArray[np.int64],
    shares_m2: NDArray[np.float64],
) -> None:
    """Give planes over courts to their courts, and sloped party walls' to the nearest downspout of their piece.

    Owners from the number of a piece's downspouts on are its courts, ring by ring, and then nobody. Changes ``owner``
    and ``shares_m2``.
    """
    feet = planes.footprints
    spouts = np.diff(offsets)
    ring = np.repeat(np.arange(len(feet.ring_offsets) - 1), np.diff(feet.ring_offsets))
    court = kind == COURT
    piece = feet.piece_of_edge
    owner[court] = (spouts[piece] + ring - feet.piece_offsets[piece] - 1)[court]
    for e in np.flatnonzero((kind == PARTY) & (planes.area_m2 > 0.0)):
        p = piece[e]
        rings = feet.piece_offsets[p + 1] - feet.piece_offsets[p]
        owner[e] = spouts[p] + rings - 1
        if spouts[p]:
            middle = 0.5 * (feet.xy_m[e] + feet.xy_m[feet.ends[e]])
            owner[e] = np.argmin(np.hypot(*(xy_m[offsets[p] : offsets[p + 1]] - middle).T))
            shares_m2[offsets[p] + owner[e]] += planes.area_m2[e]
