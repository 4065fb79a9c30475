"""One gutter of a roof piece: its downspouts, and where the roof above it divides among them."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.divide import CUTS, Work, area_before, position_of_area
from screening.roofs.kernels.gutters import AT, GIVEN, PARTY

POINT_X: Final = 0
POINT_Y: Final = 1
NORMAL_X: Final = 2
NORMAL_Y: Final = 3
SHARE: Final = 4
LOW: Final = 5
HIGH: Final = 6
SPOUT_COLUMNS: Final = 7


class Piece(NamedTuple):
    """One roof piece: corners about a local origin, classes and planes of its edges, given downspouts."""

    xy: Any
    rings: Any
    kind: Any
    nodes: Any
    plane: Any
    plane_start: Any
    area: Any
    given_edge: Any
    given_at: Any


class Chain(NamedTuple):
    """A run of eaves: edges, gutter length and roof area up to each edge, and sites."""

    edges: Any
    starts: Any
    areas: Any
    closed: bool


@compiled
def end_of(rings: np.ndarray, e: int) -> int:
    """Corner at which an edge ends."""
    for r in range(rings.shape[0] - 1):
        if rings[r] <= e < rings[r + 1]:
            return e + 1 if e + 1 < rings[r + 1] else rings[r]
    return -1


@compiled
def direction(p: Piece, ends: np.ndarray, e: int) -> tuple[float, float, float]:
    """Unit direction and length of an edge."""
    dx = p.xy[ends[e], 0] - p.xy[e, 0]
    dy = p.xy[ends[e], 1] - p.xy[e, 1]
    length = np.sqrt(dx * dx + dy * dy)
    return dx / length, dy / length, length


@compiled
def plane_ring(p: Piece, e: int) -> np.ndarray:
    """Nodes around the plane of an edge."""
    return p.plane[p.plane_start[e] - p.plane_start[0] : p.plane_start[e + 1] - p.plane_start[0]]


@compiled
def locate(values: np.ndarray, at: float) -> int:
    """Index of the interval of a rising array that holds a value; intervals of no width are passed over."""
    m = values.shape[0] - 1
    i = 0
    while i < m - 1 and values[i + 1] <= at:
        i += 1
    return i


@compiled
def area_at(p: Piece, ends: np.ndarray, c: Chain, at: float) -> float:
    """Roof area that drains to the gutter before a position of the chain. [m2]"""
    i = locate(c.starts, at)
    e = c.edges[i]
    s = at - c.starts[i]
    if s <= 1e-9:
        return float(c.areas[i])
    ux, uy, length = direction(p, ends, e)
    if s >= length - 1e-9:
        return float(c.areas[i + 1])
    return float(c.areas[i] + area_before(p.nodes, plane_ring(p, e), p.xy[e, 0], p.xy[e, 1], ux, uy, s))


@compiled
def sort_divides(at: np.ndarray, after: np.ndarray, count: int) -> None:
    """Bring the last divide of a gutter that goes right round to the front when it lies past the chain's end."""
    last_at = at[count - 1]
    last_after = after[count - 1]
    for i in range(count - 1, 0, -1):
        at[i] = at[i - 1]
        after[i] = after[i - 1]
    at[0] = last_at
    after[0] = last_after


@compiled
def divide_chain(
    p: Piece,
    ends: np.ndarray,
    c: Chain,
    sites: np.ndarray,
    first: int,
    run: float,
    spouts: np.ndarray,
    owner: np.ndarray,
    w: Work,
) -> None:
    """Halve the roof between neighbouring downspouts; shares with their range, cuts and owners of planes.

    Between two given downspouts the gutter falls both ways. Where one of two was placed, all water within the longest
    run may go to the other; where both were, to either.
    """
    k = sites.shape[0]
    m = c.edges.shape[0]
    total = c.areas[m]
    length = c.starts[m]
    at = np.empty(k)
    after = np.empty(k, np.int64)
    reach = np.empty(k)
    for i in range(k):
        reach[i] = area_at(p, ends, c, sites[i, AT])
    divides = k if c.closed and k > 1 else k - 1
    for i in range(divides):
        j = (i + 1) % k
        turned = 1.0 if j == 0 else 0.0
        area = reach[j] + turned * total - reach[i]
        gap = sites[j, AT] + turned * length - sites[i, AT]
        most = 1.0 if gap <= run else run / gap
        at[i] = reach[i] + 0.5 * area
        after[i] = first + j
        share_stretch(spouts, first + i, first + j, area, most, sites[i, GIVEN] >= 0.0, sites[j, GIVEN] >= 0.0)
    if c.closed and k == 1:
        share_end(spouts, first, total)
    elif not c.closed:
        share_end(spouts, first, reach[0])
        share_end(spouts, first + k - 1, total - reach[k - 1])
    current = first
    if c.closed and divides > 0 and at[divides - 1] >= total:
        at[divides - 1] -= total
        sort_divides(at, after, divides)
        current = first + k - 1
    own_chain(p, ends, c, at[:divides], after, current, owner, w)


@compiled
def share_stretch(spouts: np.ndarray, a: int, b: int, area: float, most: float, a_given: bool, b_given: bool) -> None:
    """Halve a stretch of roof between two downspouts; ``most`` is the part of it that one of them can take."""
    spouts[a, SHARE] += 0.5 * area
    spouts[b, SHARE] += 0.5 * area
    less = 0.5 if a_given and b_given else 1.0 - most
    more = 0.5 if a_given and b_given else most
    if most < 0.5:
        less = 0.5
        more = 0.5
    spouts[a, LOW] += area * (0.5 if a_given else less)
    spouts[a, HIGH] += area * (0.5 if b_given else more)
    spouts[b, LOW] += area * (0.5 if b_given else less)
    spouts[b, HIGH] += area * (0.5 if a_given else more)


@compiled
def share_end(spouts: np.ndarray, a: int, area: float) -> None:
    """Give a stretch of roof to the one downspout that can take it."""
    spouts[a, SHARE] += area
    spouts[a, LOW] += area
    spouts[a, HIGH] += area


@compiled
def own_chain(
    p: Piece, ends: np.ndarray, c: Chain, at: np.ndarray, after: np.ndarray, current: int, owner: np.ndarray, w: Work
) -> None:
    """Give each plane of a chain its first owner, and cut those that a divide runs through."""
    m = c.edges.shape[0]
    tiny = 1e-9 * (1.0 + c.areas[m])
    j = 0
    for i in range(m):
        e = c.edges[i]
        while j < at.shape[0] and at[j] <= c.areas[i] + tiny:
            current = after[j]
            j += 1
        owner[e] = current
        while j < at.shape[0] and at[j] < c.areas[i + 1] - tiny:
            ux, uy, _ = direction(p, ends, e)
            k = w.count[CUTS]
            w.count[CUTS] = k + 1
            w.cut[k, 0] = e
            w.cut[k, 1] = current
            w.cut[k, 2] = after[j]
            w.cut_at[k] = position_of_area(
                p.nodes, plane_ring(p, e), p.xy[e, 0], p.xy[e, 1], ux, uy, at[j] - c.areas[i]
            )
            current = after[j]
            j += 1


@compiled
def stand(p: Piece, ends: np.ndarray, starts_of: np.ndarray, c: Chain, at: float, spout: np.ndarray) -> None:
    """Place and outward normal of a downspout: at a corner between two outside walls, the bisector of both."""
    i = locate(c.starts, at)
    e = c.edges[i]
    ux, uy, length = direction(p, ends, e)
    s = min(max(at - c.starts[i], 0.0), length)
    spout[POINT_X] = p.xy[e, 0] + s * ux
    spout[POINT_Y] = p.xy[e, 1] + s * uy
    nx = uy
    ny = -ux
    other = -1
    if s < 1e-6:
        other = starts_of[e]
        spout[POINT_X] = p.xy[e, 0]
        spout[POINT_Y] = p.xy[e, 1]
    elif s > length - 1e-6:
        other = ends[e]
        spout[POINT_X] = p.xy[other, 0]
        spout[POINT_Y] = p.xy[other, 1]
    if other >= 0 and p.kind[other] != PARTY:
        vx, vy, _ = direction(p, ends, other)
        nx += vy
        ny -= vx
        size = np.sqrt(nx * nx + ny * ny)
        if size < 1e-6:
            nx = uy
            ny = -ux
            size = 1.0
        nx /= size
        ny /= size
    spout[NORMAL_X] = nx
    spout[NORMAL_Y] = ny
