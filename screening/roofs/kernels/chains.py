"""Gutters of roof pieces and their downspouts, one piece after another."""

from __future__ import annotations

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.gutters import (
    AT,
    EAVE,
    GIVEN,
    PARTY,
    PLACED,
    add_site,
    fill_gaps,
    find_corners,
    place_ends,
)


@compiled
def turn_back(values: np.ndarray, count: int, by: float, length: float) -> None:
    """Move positions on a gutter that goes right round back by a length, and bring them into order again."""
    for i in range(count):
        values[i, AT] -= by
        if values[i, AT] < 0.0:
            values[i, AT] += length
    for i in range(1, count):
        j = i
        while j > 0 and values[j - 1, AT] > values[j, AT]:
            for c in range(values.shape[1]):
                kept = values[j, c]
                values[j, c] = values[j - 1, c]
                values[j - 1, c] = kept
            j -= 1


@compiled
def sites_of_loop(sites: np.ndarray, count: int, corners: np.ndarray, found: int, length: float, run: float) -> int:
    """Downspouts along a gutter that goes right round; ``sites`` holds the given ones.

    The gutter is followed from its first downspout round to the same one, which stands at both ends meanwhile.
    """
    if count == 0:
        for i in range(found):
            count = add_site(sites, count, corners[i, 0], PLACED)
        if found == 0:
            count = add_site(sites, count, 0.0, PLACED)
    origin = sites[0, AT]
    turn_back(sites, count, origin, length)
    turn_back(corners, found, origin, length)
    sites[count, AT] = length
    sites[count, GIVEN] = PLACED
    count = fill_gaps(sites, count + 1, corners[:, 0], found, run) - 1
    turn_back(sites, count, length - origin, length)
    return count


@compiled
def first_edge(xy: np.ndarray, kind: np.ndarray, ends: np.ndarray, a: int, b: int) -> tuple[int, bool]:
    """Edge from which a ring's chains are followed, and whether all of it is eaves.

    The first edge without a gutter from the southernmost corner on (the westernmost of these), or that corner's own.
    """
    first = a
    for i in range(a + 1, b):
        level = abs(xy[i, 1] - xy[first, 1]) <= 1e-9
        if xy[i, 1] < xy[first, 1] - 1e-9 or (level and xy[i, 0] < xy[first, 0]):
            first = i
    e = first
    for _ in range(b - a):
        if kind[e] != EAVE:
            return e, False
        e = ends[e]
    return first, True


@compiled
def sites_of_all(
    xy: np.ndarray,
    ends: np.ndarray,
    outer: np.ndarray,
    kind: np.ndarray,
    given_offsets: np.ndarray,
    given_edge: np.ndarray,
    given_at: np.ndarray,
    run: float,
    room: int,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Chains and downspouts of every roof piece.

    Parameters
    ----------
    xy, ends
        Corners [m] and, for each edge, the corner at which it ends.
    outer
        First and last + 1 corner of each piece's outer ring, shape (P, 2).
    kind
        Class of each edge: EAVE, COURT, GABLE or PARTY.
    given_offsets, given_edge, given_at
        First given downspout of each piece; its edge; its place along the edge. [m]
    run
        Longest gutter run to one downspout. [m]
    room
        Downspouts that there is room for.

    Returns
    -------
    tuple
        Chains: piece, first edge, number of edges, whether closed, first downspout, downspouts, shape (C, 6);
        downspouts: position along the chain [m] and number of the given one or PLACED, shape (S, 2); first downspout
        of each piece.
    """
    pieces = outer.shape[0]
    chains = np.empty((xy.shape[0], 6), np.int64)
    sites = np.empty((room, 2))
    offsets = np.zeros(pieces + 1, np.int64)
    most = int(np.int64(1))
    for p in range(pieces):
        most = max(most, outer[p, 1] - outer[p, 0])
    starts = np.zeros(most + 1)
    edges = np.empty(most, np.int64)
    corners = np.empty((most, 1))
    c = 0
    for p in range(pieces):
        total = offsets[p]
        e, closed = first_edge(xy, kind, ends, outer[p, 0], outer[p, 1])
        left = outer[p, 1] - outer[p, 0]
        while left > 0:
            m = 0
            count = int(np.int64(0))
            here = sites[total:]
            while left > 0 and kind[e] == EAVE:
                edges[m] = e
                starts[m + 1] = starts[m] + np.hypot(xy[ends[e], 0] - xy[e, 0], xy[ends[e], 1] - xy[e, 1])
                for k in range(given_offsets[p], given_offsets[p + 1]):
                    if given_edge[k] == e:
                        at = min(starts[m] + given_at[k], starts[m + 1])
                        count = add_site(here, count, at, float(k))
                m += 1
                left -= 1
                e = ends[e]
            if m == 0:
                left -= 1
                e = ends[e]
                continue
            found = find_corners(xy, ends, edges[:m], starts, closed, corners[:, 0])
            if closed:
                count = sites_of_loop(here, count, corners, found, starts[m], run)
            else:
                before = edges[0] - 1 if edges[0] > outer[p, 0] else outer[p, 1] - 1
                party = kind[before] == PARTY
                count = place_ends(here, count, corners[:, 0], found, starts[m], run, party, kind[e] == PARTY)
                count = fill_gaps(here, count, corners[:, 0], found, run)
            chains[c, 0] = p
            chains[c, 1] = edges[0]
            chains[c, 2] = m
            chains[c, 3] = closed
            chains[c, 4] = total
            chains[c, 5] = count
            c += 1
            total += count
        offsets[p + 1] = total
    return chains[:c], sites[: offsets[pieces]], offsets
