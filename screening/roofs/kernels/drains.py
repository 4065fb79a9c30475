"""Downspouts and roof shares of many roof pieces, one after another."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.chains import (
    HIGH,
    LOW,
    POINT_X,
    POINT_Y,
    SHARE,
    Chain,
    Piece,
    direction,
    divide_chain,
    plane_ring,
    stand,
)
from screening.roofs.kernels.divide import (
    CUTS,
    POINTS,
    SIDES,
    Work,
    add_cut_sides,
    add_side,
    cancel_sides,
    cut_sides,
    own_sides,
)
from screening.roofs.kernels.gutters import (
    AT,
    COURT,
    EAVE,
    GIVEN,
    PARTY,
    add_site,
    find_corners,
    sites_of_loop,
    sites_of_run,
)

TAKEN: Final = -2
"""Plane number of a side that an outline has used."""


@compiled
def follow_rings(rings: np.ndarray, ends: np.ndarray, befores: np.ndarray) -> None:
    """For each edge the corner at which it ends (the edge that follows) and the edge before it."""
    for r in range(rings.shape[0] - 1):
        for e in range(rings[r], rings[r + 1]):
            ends[e] = e + 1 if e + 1 < rings[r + 1] else rings[r]
            befores[ends[e]] = e


@compiled
def first_corner(xy: np.ndarray, m: int) -> int:
    """The southernmost corner of the outer ring, the westernmost of these: downspouts are counted from there."""
    first = 0
    for i in range(1, m):
        lower = xy[i, 1] < xy[first, 1] - 1e-9
        level = abs(xy[i, 1] - xy[first, 1]) <= 1e-9
        if lower or (level and xy[i, 0] < xy[first, 0]):
            first = i
    return first


@compiled
def make_chain(p: Piece, ends: np.ndarray, start: int, count: int, closed: bool) -> Chain:
    """The chain of so many eaves from one edge on."""
    edges = np.empty(count, np.int64)
    starts = np.zeros(count + 1)
    areas = np.zeros(count + 1)
    e = start
    for i in range(count):
        edges[i] = e
        _, _, length = direction(p, ends, e)
        starts[i + 1] = starts[i] + length
        areas[i + 1] = areas[i] + p.area[e]
        e = ends[e]
    return Chain(edges, starts, areas, closed)


@compiled
def sites_of_chain(p: Piece, ends: np.ndarray, befores: np.ndarray, c: Chain, run: float) -> np.ndarray:
    """Downspouts along a chain, given ones first, in order: position, number of the given one or -1."""
    m = c.edges.shape[0]
    length = c.starts[m]
    g = p.given_edge.shape[0]
    sites = np.empty((4 * (m + g) + int(length / run) + 8, 2))
    count = np.int64(0)
    for i in range(m):
        for k in range(g):
            if p.given_edge[k] == c.edges[i]:
                at = c.starts[i] + min(max(p.given_at[k], 0.0), c.starts[i + 1] - c.starts[i])
                if c.closed and at >= length:
                    at = 0.0
                count = add_site(sites, count, at, float(k))
    corners = np.empty(m + 1)
    found = find_corners(p.xy, c.edges, ends, c.starts, c.closed, corners)
    if c.closed:
        count = sites_of_loop(sites, count, corners, found, length, run)
    else:
        before = p.kind[befores[c.edges[0]]] == PARTY
        after = p.kind[ends[c.edges[m - 1]]] == PARTY
        count = sites_of_run(sites, count, corners, found, length, run, before, after)
    return sites[:count]


@compiled
def nearest_spout(p: Piece, ends: np.ndarray, e: int, spouts: np.ndarray, count: int) -> int:
    """The downspout nearest to the middle of an edge, or -1."""
    x = 0.5 * (p.xy[e, 0] + p.xy[ends[e], 0])
    y = 0.5 * (p.xy[e, 1] + p.xy[ends[e], 1])
    best = -1
    least = np.inf
    for k in range(count):
        d = (spouts[k, POINT_X] - x) ** 2 + (spouts[k, POINT_Y] - y) ** 2
        if d < least:
            least = d
            best = k
    return best


@compiled
def drain_piece(p: Piece, run: float, w: Work, spouts: np.ndarray, spout_given: np.ndarray, owner: np.ndarray) -> int:
    """Downspouts of a piece, owners of its planes and the cuts through them; the number of downspouts.

    Owners from the number of downspouts on are the inner courts, ring by ring, and last what no downspout takes.
    """
    n = p.xy.shape[0]
    ends = np.empty(n, np.int64)
    befores = np.empty(n, np.int64)
    follow_rings(p.rings, ends, befores)
    m = p.rings[1]
    origin = first_corner(p.xy, m)
    e = origin
    for _ in range(m):
        if p.kind[e] != EAVE:
            break
        e = ends[e]
    closed = p.kind[e] == EAVE
    left = m
    total = np.int64(0)
    while left > 0:
        count = 0
        start = e
        while left > 0 and p.kind[e] == EAVE:
            count += 1
            left -= 1
            e = ends[e]
        if count > 0:
            chain = make_chain(p, ends, start, count, closed)
            sites = sites_of_chain(p, ends, befores, chain, run)
            k = sites.shape[0]
            spouts[total : total + k] = 0.0
            for i in range(k):
                spout_given[total + i] = int(sites[i, GIVEN])
                stand(p, ends, befores, chain, sites[i, AT], spouts[total + i])
            divide_chain(p, ends, chain, sites, total, run, spouts, owner, w)
            total += k
        else:
            left -= 1
            e = ends[e]
    own_rest(p, ends, spouts, total, owner)
    return total


@compiled
def own_rest(p: Piece, ends: np.ndarray, spouts: np.ndarray, total: int, owner: np.ndarray) -> None:
    """Give the planes over inner courts to their courts, and those of party walls to the nearest downspout."""
    rings = p.rings.shape[0] - 1
    for r in range(rings):
        for e in range(p.rings[r], p.rings[r + 1]):
            if p.kind[e] == COURT:
                owner[e] = total + r - 1
            elif p.kind[e] == PARTY and p.area[e] > 0.0:
                k = nearest_spout(p, ends, e, spouts, total)
                owner[e] = k if k >= 0 else total + rings - 1
                if k >= 0:
                    spouts[k, SHARE] += p.area[e]
                    spouts[k, LOW] += p.area[e]
                    spouts[k, HIGH] += p.area[e]


@compiled
def outline_piece(p: Piece, w: Work, owner: np.ndarray) -> None:
    """Sides of every share: those of its planes and cuts that do not lie between two parts of it."""
    n = p.xy.shape[0]
    w.count[SIDES] = 0
    w.count[POINTS] = p.nodes.shape[0]
    w.xy[: p.nodes.shape[0]] = p.nodes
    for e in range(n):
        ring = plane_ring(p, e)
        for i in range(ring.shape[0]):
            add_side(w, ring[i], ring[(i + 1) % ring.shape[0]], e, owner[e])
    ends = np.empty(n, np.int64)
    befores = np.empty(n, np.int64)
    follow_rings(p.rings, ends, befores)
    found = np.empty(w.side.shape[0], np.int64)
    for c in range(w.count[CUTS]):
        e = w.cut[c, 0]
        ux, uy, _ = direction(p, ends, e)
        cut_sides(w, c, p.xy[e, 0], p.xy[e, 1], ux, uy)
    for c in range(w.count[CUTS]):
        e = w.cut[c, 0]
        ux, uy, _ = direction(p, ends, e)
        if c == 0 or w.cut[c - 1, 0] != e:
            own_sides(w, e, p.xy[e, 0], p.xy[e, 1], ux, uy)
        add_cut_sides(w, c, p.xy[e, 0], p.xy[e, 1], ux, uy, found)
    cancel_sides(w)
