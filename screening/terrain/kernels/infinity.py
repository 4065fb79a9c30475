"""D-infinity: one direction of steepest descent over eight triangular facets, shared between two neighbours."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.jit import compiled

Array = NDArray[Any]


@compiled
def facet_descent(e0: float, e1: float, e2: float, d1: float, d2: float) -> tuple[float, float]:
    """Steepest descent on one facet: angle from the cardinal neighbour towards the diagonal one, and slope.

    ``e0``, ``e1`` and ``e2`` are heights of the cell, its cardinal and its diagonal neighbour, ``d1`` the distance to
    the cardinal neighbour and ``d2`` from that to the diagonal one.
    """
    s1, s2 = (e0 - e1) / d1, (e1 - e2) / d2
    r, s = np.arctan2(s2, s1), np.hypot(s1, s2)
    if r < 0.0:
        return 0.0, s1
    widest = np.arctan2(d2, d1)
    if r > widest:
        return widest, (e0 - e2) / np.hypot(d1, d2)
    return r, s


@compiled
def infinite_ways(
    filled: Array, ground: Array, direction: Array, dx: float, dy: float, angle: Array, slope: Array, first: Array,
    second: Array, share: Array,
) -> None:  # fmt: skip
    """Write angle, slope, the two neighbours (numbers of direction) that take water, and the second one's share.

    ``first`` is 8 where water leaves and 9 where none runs. A facet counts when both its neighbours are ground; where
    none falls, the tree of the routing leads on.
    """
    rows, columns = filled.shape
    for r in range(rows):
        for c in range(columns):
            code = direction[r, c]
            first[r, c], second[r, c], share[r, c] = 8 if code == 0 else 9, 8, 0.0
            angle[r, c], slope[r, c] = np.nan, 0.0
            if code == 0 or code == 255:
                continue
            for f in range(8 if ground[r, c] else 0):
                cardinal = (0, 6, 6, 4, 4, 2, 2, 0)[f]
                diagonal = (7, 7, 5, 5, 3, 3, 1, 1)[f]
                r1, c1 = r + (0, 0, 1, 0, 0, 0, -1, 0)[cardinal], c + (1, 0, 0, 0, -1, 0, 0, 0)[cardinal]
                r2, c2 = r + (0, 1, 0, 1, 0, -1, 0, -1)[diagonal], c + (0, 1, 0, -1, 0, -1, 0, 1)[diagonal]
                if not (ground[r1, c1] and ground[r2, c2]):
                    continue
                along = cardinal % 4 == 0
                d1, d2 = (dx, dy) if along else (dy, dx)
                turn, fall = facet_descent(
                    np.float64(filled[r, c]), np.float64(filled[r1, c1]), np.float64(filled[r2, c2]), d1, d2
                )
                if fall > slope[r, c]:
                    slope[r, c] = fall
                    first[r, c], second[r, c] = cardinal, diagonal
                    share[r, c] = turn / np.arctan2(d2, d1)
                    quarter = (0, 1, 1, 2, 2, 3, 3, 4)[f] * (np.pi / 2.0)
                    angle[r, c] = quarter + turn if f % 2 == 0 else quarter - turn
            if first[r, c] == 9:
                k = 0
                while (1 << k) != code:
                    k += 1
                first[r, c] = k
                run_x, run_y = (dx, dx, 0.0, -dx, -dx, -dx, 0.0, dx)[k], (0.0, -dy, -dy, -dy, 0.0, dy, dy, dy)[k]
                angle[r, c] = np.arctan2(run_y, run_x) % (2.0 * np.pi)


@compiled
def count_sources(first: Array, second: Array, share: Array, step_r: Array, step_c: Array, feeders: Array) -> None:
    """Count for every cell the neighbours that send it water; ``feeders`` comes filled with 0."""
    rows, columns = first.shape
    for r in range(rows):
        for c in range(columns):
            if first[r, c] < 8:
                k = first[r, c]
                if share[r, c] < 1.0:
                    feeders[r + step_r[k], c + step_c[k]] += 1
                if share[r, c] > 0.0:
                    k = second[r, c]
                    feeders[r + step_r[k], c + step_c[k]] += 1


@compiled
def spread_area(
    first: Array, second: Array, share: Array, step_r: Array, step_c: Array, feeders: Array, area: Array, queue: Array
) -> int:
    """Send every cell's area on, shared in whole parts so that none is lost; return the cells done (less on a cycle).

    ``area`` comes with what each cell adds.
    """
    rows, columns = first.shape
    last = 0
    for cell in range(rows * columns):
        if feeders[cell // columns, cell % columns] == 0:
            queue[last] = cell
            last += 1
    done = 0
    while done < last:
        r, c = queue[done] // columns, queue[done] % columns
        done += 1
        if first[r, c] >= 8:
            continue
        whole = area[r, c]
        aside = np.int64(np.floor(np.float64(whole) * share[r, c] + 0.5))
        for n in range(2):
            if (n == 0 and share[r, c] == 1.0) or (n == 1 and share[r, c] == 0.0):
                continue
            k = first[r, c] if n == 0 else second[r, c]
            i, j = r + step_r[k], c + step_c[k]
            area[i, j] += whole - aside if n == 0 else aside
            feeders[i, j] -= 1
            if feeders[i, j] == 0:
                queue[last] = i * columns + j
                last += 1
    return done
