"""Divide the planes of one roof piece among its downspouts.

The planes are kept as *sides*: directed lines from node to node, each with the plane, later the downspout, on its left.
Cutting a plane adds nodes to both planes that share a side, so that shares meet corner to corner; sides that run both
ways within one share cancel, and what is left is its outline.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.wave import clockwise

FROM: Final = 0
TO: Final = 1
PLANE: Final = 2
OWNER: Final = 3

SIDES: Final = 0
POINTS: Final = 1
CUTS: Final = 2

ON_CUT_M: Final = 1e-7


class Work(NamedTuple):
    """Sides, nodes, and cuts (edge, owner before, owner after; position along the edge) of one roof piece."""

    side: Any
    xy: Any
    cut: Any
    cut_at: Any
    count: Any


@compiled
def new_work(sides: int, points: int, cuts: int) -> Work:
    """Room for a piece with so many sides, nodes and cuts."""
    return Work(
        np.empty((2 * sides + 8 * cuts + 16, 4), np.int64),
        np.empty((points + 4 * cuts + sides + 16, 2)),
        np.empty((cuts + 8, 3), np.int64),
        np.empty(cuts + 8),
        np.zeros(3, np.int64),
    )


@compiled
def area_before(xy: np.ndarray, ring: np.ndarray, ax: float, ay: float, ux: float, uy: float, s: float) -> float:
    """Area of the part of a plane that lies before position s along its eave. [m2]"""
    total = 0.0
    m = ring.shape[0]
    for i in range(m):
        a = ring[i]
        b = ring[(i + 1) % m]
        sa = (xy[a, 0] - ax) * ux + (xy[a, 1] - ay) * uy
        sb = (xy[b, 0] - ax) * ux + (xy[b, 1] - ay) * uy
        if sa >= s and sb >= s:
            continue
        ha = (xy[a, 1] - ay) * ux - (xy[a, 0] - ax) * uy
        hb = (xy[b, 1] - ay) * ux - (xy[b, 0] - ax) * uy
        if sa > s:
            ha = hb + (ha - hb) * (s - sb) / (sa - sb)
            sa = s
        elif sb > s:
            hb = ha + (hb - ha) * (s - sa) / (sb - sa)
            sb = s
        total -= 0.5 * (ha + hb) * (sb - sa)
    return total


@compiled
def position_of_area(
    xy: np.ndarray, ring: np.ndarray, ax: float, ay: float, ux: float, uy: float, wanted: float
) -> float:
    """Position along an eave before which the plane has the wanted area. [m]

    Between two nodes' positions the area is a quadratic of the position.
    """
    low = np.inf
    high = -np.inf
    for k in ring:
        s = (xy[k, 0] - ax) * ux + (xy[k, 1] - ay) * uy
        low = min(low, s)
        high = max(high, s)
    for k in ring:
        s = (xy[k, 0] - ax) * ux + (xy[k, 1] - ay) * uy
        if low < s < high:
            area = area_before(xy, ring, ax, ay, ux, uy, s)
            if abs(area - wanted) < 1e-9:
                return s
            if area < wanted:
                low = s
            else:
                high = s
    a0 = area_before(xy, ring, ax, ay, ux, uy, low)
    am = area_before(xy, ring, ax, ay, ux, uy, 0.5 * (low + high))
    a1 = area_before(xy, ring, ax, ay, ux, uy, high)
    square = 2.0 * a0 - 4.0 * am + 2.0 * a1
    linear = -3.0 * a0 + 4.0 * am - a1
    rest = a0 - wanted
    root = linear + np.sqrt(max(linear * linear - 4.0 * square * rest, 0.0))
    if root <= 0.0:
        return low
    return low + (high - low) * min(max(-2.0 * rest / root, 0.0), 1.0)


@compiled
def add_side(w: Work, a: int, b: int, plane: int, owner: int) -> None:
    """Add a directed side."""
    i = w.count[SIDES]
    w.side[i, FROM] = a
    w.side[i, TO] = b
    w.side[i, PLANE] = plane
    w.side[i, OWNER] = owner
    w.count[SIDES] = i + 1


@compiled
def split_side(w: Work, i: int, k: int) -> None:
    """Put node k into a side and into the side that runs back along it, if there is one."""
    a = w.side[i, FROM]
    b = w.side[i, TO]
    for j in range(w.count[SIDES]):
        forward = w.side[j, FROM] == a and w.side[j, TO] == b
        back = w.side[j, FROM] == b and w.side[j, TO] == a
        if forward or back:
            end = w.side[j, TO]
            w.side[j, TO] = k
            add_side(w, k, end, w.side[j, PLANE], w.side[j, OWNER])


@compiled
def cut_sides(w: Work, c: int, ax: float, ay: float, ux: float, uy: float) -> None:
    """Put a node wherever the line of a cut crosses a side of its plane."""
    s = w.cut_at[c]
    e = w.cut[c, 0]
    i = np.int64(0)
    while i < w.count[SIDES]:
        if w.side[i, PLANE] == e:
            a = w.side[i, FROM]
            b = w.side[i, TO]
            sa = (w.xy[a, 0] - ax) * ux + (w.xy[a, 1] - ay) * uy - s
            sb = (w.xy[b, 0] - ax) * ux + (w.xy[b, 1] - ay) * uy - s
            if sa * sb < 0.0 and abs(sa) > ON_CUT_M and abs(sb) > ON_CUT_M:
                f = sa / (sa - sb)
                k = w.count[POINTS]
                w.count[POINTS] = k + 1
                w.xy[k, 0] = w.xy[a, 0] + f * (w.xy[b, 0] - w.xy[a, 0])
                w.xy[k, 1] = w.xy[a, 1] + f * (w.xy[b, 1] - w.xy[a, 1])
                split_side(w, i, k)
        i += 1


@compiled
def own_sides(w: Work, e: int, ax: float, ay: float, ux: float, uy: float) -> None:
    """Give the sides of a cut plane to the owners of its strips; the cuts of a plane come in order along its eave."""
    for i in range(w.count[SIDES]):
        if w.side[i, PLANE] != e:
            continue
        a = w.side[i, FROM]
        b = w.side[i, TO]
        sa = (w.xy[a, 0] - ax) * ux + (w.xy[a, 1] - ay) * uy
        sb = (w.xy[b, 0] - ax) * ux + (w.xy[b, 1] - ay) * uy
        up = (w.xy[b, 1] - w.xy[a, 1]) * ux - (w.xy[b, 0] - w.xy[a, 0]) * uy > 0.0
        for c in range(w.count[CUTS]):
            if w.cut[c, 0] != e:
                continue
            s = w.cut_at[c]
            on_cut = abs(sa - s) <= ON_CUT_M and abs(sb - s) <= ON_CUT_M
            if (on_cut and not up) or (not on_cut and 0.5 * (sa + sb) > s):
                w.side[i, OWNER] = w.cut[c, 2]


@compiled
def inside_plane(w: Work, e: int, x: float, y: float, known: int) -> bool:
    """Whether a point lies inside a plane, by the first ``known`` sides."""
    inside = False
    for i in range(known):
        if w.side[i, PLANE] != e:
            continue
        a = w.side[i, FROM]
        b = w.side[i, TO]
        if (w.xy[a, 1] > y) != (w.xy[b, 1] > y):
            at = w.xy[a, 0] + (y - w.xy[a, 1]) / (w.xy[b, 1] - w.xy[a, 1]) * (w.xy[b, 0] - w.xy[a, 0])
            if x < at:
                inside = not inside
    return inside


@compiled
def add_cut_sides(w: Work, c: int, ax: float, ay: float, ux: float, uy: float, found: np.ndarray) -> None:
    """Add the two sides, there and back, of every stretch in which a cut crosses its plane."""
    s = w.cut_at[c]
    e = w.cut[c, 0]
    known = w.count[SIDES]
    count = 0
    for i in range(known):
        k = w.side[i, FROM]
        if w.side[i, PLANE] != e or abs((w.xy[k, 0] - ax) * ux + (w.xy[k, 1] - ay) * uy - s) > ON_CUT_M:
            continue
        h = (w.xy[k, 1] - ay) * ux - (w.xy[k, 0] - ax) * uy
        j = count
        while j > 0 and (w.xy[found[j - 1], 1] - ay) * ux - (w.xy[found[j - 1], 0] - ax) * uy > h:
            found[j] = found[j - 1]
            j -= 1
        found[j] = k
        count += 1
    for j in range(count - 1):
        a = found[j]
        b = found[j + 1]
        if a == b:
            continue
        along = False
        for i in range(known):
            if w.side[i, PLANE] == e and (
                (w.side[i, FROM] == a and w.side[i, TO] == b) or (w.side[i, FROM] == b and w.side[i, TO] == a)
            ):
                along = True
        x = 0.5 * (w.xy[a, 0] + w.xy[b, 0])
        y = 0.5 * (w.xy[a, 1] + w.xy[b, 1])
        if not along and (count == 2 or inside_plane(w, e, x, y, known)):
            add_side(w, a, b, e, w.cut[c, 1])
            add_side(w, b, a, e, w.cut[c, 2])


@compiled
def cancel_sides(w: Work) -> None:
    """Drop pairs of sides that run both ways within one share (their owner becomes -1)."""
    n = w.count[SIDES]
    for i in range(n):
        if w.side[i, OWNER] < 0:
            continue
        for j in range(i + 1, n):
            if w.side[j, OWNER] == w.side[i, OWNER] and w.side[j, FROM] == w.side[i, TO]:
                if w.side[j, TO] == w.side[i, FROM]:
                    w.side[i, OWNER] = -1
                    w.side[j, OWNER] = -1
                    break


@compiled
def next_side(w: Work, i: int) -> int:
    """The unused side of the same owner that goes on from a side: the first clockwise from its back ray."""
    end = w.side[i, TO]
    bx = w.xy[w.side[i, FROM], 0] - w.xy[end, 0]
    by = w.xy[w.side[i, FROM], 1] - w.xy[end, 1]
    best = -1
    least = np.inf
    for j in range(w.count[SIDES]):
        if w.side[j, OWNER] != w.side[i, OWNER] or w.side[j, FROM] != end or w.side[j, PLANE] == -2:
            continue
        if best < 0:
            best = j
            continue
        if least == np.inf:
            k = w.side[best, TO]
            least = clockwise(bx, by, w.xy[k, 0] - w.xy[end, 0], w.xy[k, 1] - w.xy[end, 1])
        k = w.side[j, TO]
        angle = clockwise(bx, by, w.xy[k, 0] - w.xy[end, 0], w.xy[k, 1] - w.xy[end, 1])
        if angle < least:
            least = angle
            best = j
    return best
