"""Cut the planes of one roof piece apart into shares.

The planes are kept as *sides*: directed lines from node to node, each with the plane and the share on its left.
Cutting a plane adds nodes to both planes that share a side, so that shares meet corner to corner; sides that run both
ways within one share cancel, and what is left is its outline.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled

FROM: Final = 0
TO: Final = 1
PLANE: Final = 2
OWNER: Final = 3

ON_CUT_M: Final = 1e-7
NOBODY: Final = -1


@compiled
def split_sides(
    side: np.ndarray, count: int, xy: np.ndarray, points: int, e: int, eave: np.ndarray, s: float
) -> tuple[int, int]:
    """Put a node wherever the line of a cut crosses a side of its plane, into the side that runs back too.

    ``eave`` holds the start and direction of the plane's eave. Returns the new numbers of sides and of nodes.
    """
    i = int(np.int64(0))
    while i < count and count < side.shape[0] - 4 and points < xy.shape[0] - 1:
        a = side[i, FROM]
        b = side[i, TO]
        sa = (xy[a, 0] - eave[0]) * eave[2] + (xy[a, 1] - eave[1]) * eave[3] - s
        sb = (xy[b, 0] - eave[0]) * eave[2] + (xy[b, 1] - eave[1]) * eave[3] - s
        if side[i, PLANE] == e and sa * sb < 0.0 and abs(sa) > ON_CUT_M and abs(sb) > ON_CUT_M:
            f = sa / (sa - sb)
            xy[points, 0] = xy[a, 0] + f * (xy[b, 0] - xy[a, 0])
            xy[points, 1] = xy[a, 1] + f * (xy[b, 1] - xy[a, 1])
            for j in range(count):
                forward = side[j, FROM] == a and side[j, TO] == b
                if forward or (side[j, FROM] == b and side[j, TO] == a):
                    side[count, FROM] = points
                    side[count, TO] = side[j, TO]
                    side[count, PLANE] = side[j, PLANE]
                    side[count, OWNER] = side[j, OWNER]
                    side[j, TO] = points
                    count += 1
            points += 1
        i += 1
    return count, points


@compiled
def inside_plane(side: np.ndarray, count: int, xy: np.ndarray, e: int, x: float, y: float) -> bool:
    """Whether a point lies inside a plane."""
    inside = False
    for i in range(count):
        if side[i, PLANE] != e:
            continue
        a = side[i, FROM]
        b = side[i, TO]
        if (xy[a, 1] > y) != (xy[b, 1] > y):
            if x < xy[a, 0] + (y - xy[a, 1]) / (xy[b, 1] - xy[a, 1]) * (xy[b, 0] - xy[a, 0]):
                inside = not inside
    return inside


@compiled
def give_sides(side: np.ndarray, count: int, xy: np.ndarray, e: int, eave: np.ndarray, s: float, after: int) -> None:
    """Give the sides of a plane that lie past a cut to the owner after it."""
    for i in range(count):
        if side[i, PLANE] != e:
            continue
        a = side[i, FROM]
        b = side[i, TO]
        sa = (xy[a, 0] - eave[0]) * eave[2] + (xy[a, 1] - eave[1]) * eave[3] - s
        sb = (xy[b, 0] - eave[0]) * eave[2] + (xy[b, 1] - eave[1]) * eave[3] - s
        down = (xy[b, 1] - xy[a, 1]) * eave[2] - (xy[b, 0] - xy[a, 0]) * eave[3] < 0.0
        if abs(sa) <= ON_CUT_M and abs(sb) <= ON_CUT_M:
            if down:
                side[i, OWNER] = after
        elif sa + sb > 0.0:
            side[i, OWNER] = after


@compiled
def add_cut(
    side: np.ndarray,
    count: int,
    xy: np.ndarray,
    e: int,
    eave: np.ndarray,
    s: float,
    before: int,
    after: int,
    found: np.ndarray,
) -> int:
    """Add two sides, there and back, wherever a cut crosses its plane; the new number of sides."""
    known = count
    k = 0
    for i in range(known):
        a = side[i, FROM]
        if side[i, PLANE] != e:
            continue
        if abs((xy[a, 0] - eave[0]) * eave[2] + (xy[a, 1] - eave[1]) * eave[3] - s) > ON_CUT_M:
            continue
        height = (xy[a, 1] - eave[1]) * eave[2] - (xy[a, 0] - eave[0]) * eave[3]
        j = k
        while j > 0:
            b = found[j - 1]
            if (xy[b, 1] - eave[1]) * eave[2] - (xy[b, 0] - eave[0]) * eave[3] <= height:
                break
            found[j] = b
            j -= 1
        found[j] = a
        k += 1
    for j in range(k - 1):
        a = found[j]
        b = found[j + 1]
        along = a == b
        for i in range(known):
            if side[i, PLANE] == e and min(side[i, FROM], side[i, TO]) == min(a, b):
                along = along or max(side[i, FROM], side[i, TO]) == max(a, b)
        x = 0.5 * (xy[a, 0] + xy[b, 0])
        y = 0.5 * (xy[a, 1] + xy[b, 1])
        if not along and count < side.shape[0] - 2 and (k == 2 or inside_plane(side, known, xy, e, x, y)):
            for way in range(2):
                side[count, FROM] = a if way == 0 else b
                side[count, TO] = b if way == 0 else a
                side[count, PLANE] = e
                side[count, OWNER] = before if way == 0 else after
                count += 1
    return count


@compiled
def cancel_sides(side: np.ndarray, count: int) -> None:
    """Leave to nobody the pairs of sides that run both ways within one share."""
    for i in range(count):
        if side[i, OWNER] == NOBODY:
            continue
        for j in range(i + 1, count):
            if side[j, FROM] == side[i, TO] and side[j, TO] == side[i, FROM] and side[j, OWNER] == side[i, OWNER]:
                side[i, OWNER] = NOBODY
                side[j, OWNER] = NOBODY
                break
