"""Where the roof above a gutter divides among its downspouts, and how much of it each gets."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.gutters import AT, GIVEN

SHARE: Final = 0
LOW: Final = 1
HIGH: Final = 2


@compiled
def area_before(xy: np.ndarray, ring: np.ndarray, x0: float, y0: float, ux: float, uy: float, s: float) -> float:
    """Area of the part of a plane that lies before position s along its eave, which starts at x0, y0 [m2]."""
    total = 0.0
    m = ring.shape[0]
    a = ring[m - 1]
    sa = (xy[a, 0] - x0) * ux + (xy[a, 1] - y0) * uy
    ha = (xy[a, 1] - y0) * ux - (xy[a, 0] - x0) * uy
    for i in range(m):
        b = ring[i]
        sb = (xy[b, 0] - x0) * ux + (xy[b, 1] - y0) * uy
        hb = (xy[b, 1] - y0) * ux - (xy[b, 0] - x0) * uy
        if sa < s or sb < s:
            if sa > s:
                total -= 0.5 * (hb + (ha - hb) * (s - sb) / (sa - sb) + hb) * (sb - s)
            elif sb > s:
                total -= 0.5 * (ha + (hb - ha) * (s - sa) / (sb - sa) + ha) * (s - sa)
            else:
                total -= 0.5 * (ha + hb) * (sb - sa)
        sa = sb
        ha = hb
    return total


@compiled
def position_of_area(
    xy: np.ndarray, ring: np.ndarray, x0: float, y0: float, ux: float, uy: float, wanted: float
) -> float:
    """Position along an eave before which the plane has the wanted area [m].

    Between two nodes' positions the area is a quadratic of the position.
    """
    low = np.inf
    high = -np.inf
    for k in ring:
        s = (xy[k, 0] - x0) * ux + (xy[k, 1] - y0) * uy
        low = min(low, s)
        high = max(high, s)
    for k in ring:
        s = (xy[k, 0] - x0) * ux + (xy[k, 1] - y0) * uy
        if low < s < high:
            area = area_before(xy, ring, x0, y0, ux, uy, s)
            if abs(area - wanted) < 1e-9:
                return float(s)
            if area < wanted:
                low = s
            else:
                high = s
    a0 = area_before(xy, ring, x0, y0, ux, uy, low)
    am = area_before(xy, ring, x0, y0, ux, uy, 0.5 * (low + high))
    a1 = area_before(xy, ring, x0, y0, ux, uy, high)
    square = 2.0 * a0 - 4.0 * am + 2.0 * a1
    linear = -3.0 * a0 + 4.0 * am - a1
    root = linear + np.sqrt(max(linear * linear - 4.0 * square * (a0 - wanted), 0.0))
    if root <= 0.0:
        return float(low)
    return float(low + (high - low) * min(max(-2.0 * (a0 - wanted) / root, 0.0), 1.0))


@compiled
def share_out(spouts: np.ndarray, a: int, b: int, area: float, gap: float, run: float, given: int) -> None:
    """Halve a stretch of roof between two downspouts, with the range of either's part.

    Both given (3): the gutter falls both ways. One given (1 the first, 2 the second): the other may not be there, so
    that all may go to the given one. Neither: all may go to either. No more goes to one than the longest run holds.
    """
    most = 1.0 if gap <= run else max(run / gap, 0.5)
    spouts[a, SHARE] += 0.5 * area
    spouts[b, SHARE] += 0.5 * area
    spouts[a, LOW] += area * (0.5 if given & 1 else 1.0 - most)
    spouts[b, LOW] += area * (0.5 if given & 2 else 1.0 - most)
    spouts[a, HIGH] += area * (0.5 if given & 2 else most)
    spouts[b, HIGH] += area * (0.5 if given & 1 else most)


@compiled
def reach_of_sites(
    xy: np.ndarray,
    ends: np.ndarray,
    chain: np.ndarray,
    base: np.ndarray,
    area: np.ndarray,
    node: np.ndarray,
    rings: np.ndarray,
    ring_starts: np.ndarray,
    sites: np.ndarray,
    reach: np.ndarray,
) -> tuple[float, float]:
    """Roof area that drains to the gutter before each downspout of a chain [m2]; the whole area and length."""
    e = chain[1]
    i = 0
    length = 0.0
    total = 0.0
    for _ in range(chain[2]):
        dx = xy[ends[e], 0] - xy[e, 0]
        dy = xy[ends[e], 1] - xy[e, 1]
        along = np.hypot(dx, dy)
        while i < chain[5] and sites[i, AT] < length + along - 1e-9:
            reach[i] = total
            s = sites[i, AT] - length
            if s > 1e-9:
                ring = rings[ring_starts[e] : ring_starts[e + 1]]
                reach[i] += area_before(node, ring, xy[e, 0] - base[0], xy[e, 1] - base[1], dx / along, dy / along, s)
            i += 1
        length += along
        total += area[e]
        e = ends[e]
    while i < chain[5]:
        reach[i] = total
        i += 1
    return total, length


@compiled
def divides_of_chain(
    chain: np.ndarray,
    number: int,
    sites: np.ndarray,
    reach: np.ndarray,
    total: float,
    length: float,
    run: float,
    spouts: np.ndarray,
    divides: np.ndarray,
) -> int:
    """Shares of a chain's downspouts, and where they divide: roof area before, owner after, in order.

    Returns the owner at the chain's start.
    """
    k = chain[5]
    owns = number
    stretches = k if chain[3] == 1 and k > 1 else k - 1
    for i in range(stretches):
        j = i + 1 if i + 1 < k else 0
        around = 1.0 if j == 0 else 0.0
        stretch = reach[j] + around * total - reach[i]
        gap = sites[j, AT] + around * length - sites[i, AT]
        given = (1 if sites[i, GIVEN] >= 0.0 else 0) + (2 if sites[j, GIVEN] >= 0.0 else 0)
        share_out(spouts, i, j, stretch, gap, run, given)
        divides[i, 0] = reach[i] + 0.5 * stretch
        divides[i, 1] = number + j
    if stretches == k and divides[k - 1, 0] >= total:
        for i in range(k - 1, 0, -1):
            divides[i, 0] = divides[i - 1, 0]
            divides[i, 1] = divides[i - 1, 1]
        divides[0, 0] = reach[k - 1] + 0.5 * (reach[0] + total - reach[k - 1]) - total
        divides[0, 1] = number
        owns = number + k - 1
    if stretches < k:
        for column in range(3):
            if chain[3] == 1:
                spouts[0, column] += total
            else:
                spouts[0, column] += reach[0]
                spouts[k - 1, column] += total - reach[k - 1]
    return owns


@compiled
def own_planes(
    xy: np.ndarray,
    ends: np.ndarray,
    chain: np.ndarray,
    base: np.ndarray,
    area: np.ndarray,
    node: np.ndarray,
    rings: np.ndarray,
    ring_starts: np.ndarray,
    divides: np.ndarray,
    total: float,
    owns: int,
    owner: np.ndarray,
    cuts: np.ndarray,
    cut_at: np.ndarray,
    made: int,
) -> int:
    """Give each plane of a chain its first owner, and cut those that a divide runs through; the new number of cuts."""
    found = chain[5] if chain[3] == 1 and chain[5] > 1 else chain[5] - 1
    tiny = 1e-9 * (1.0 + total)
    e = chain[1]
    before = 0.0
    j = 0
    for _ in range(chain[2]):
        while j < found and divides[j, 0] <= before + tiny:
            owns = int(divides[j, 1])
            j += 1
        owner[e] = owns
        while j < found and divides[j, 0] < before + area[e] - tiny:
            dx = xy[ends[e], 0] - xy[e, 0]
            dy = xy[ends[e], 1] - xy[e, 1]
            along = np.hypot(dx, dy)
            ring = rings[ring_starts[e] : ring_starts[e + 1]]
            owns = int(divides[j, 1])
            cuts[made, 0] = e
            cuts[made, 1] = owns
            cut_at[made] = position_of_area(
                node, ring, xy[e, 0] - base[0], xy[e, 1] - base[1], dx / along, dy / along, divides[j, 0] - before
            )
            made += 1
            j += 1
        before += area[e]
        e = ends[e]
    return made


@compiled
def divide_all(
    xy: np.ndarray,
    ends: np.ndarray,
    first_edges: np.ndarray,
    chains: np.ndarray,
    sites: np.ndarray,
    spout_offsets: np.ndarray,
    area: np.ndarray,
    nodes: np.ndarray,
    node_offsets: np.ndarray,
    rings: np.ndarray,
    ring_starts: np.ndarray,
    run: float,
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Shares of all downspouts, and who owns which part of each plane.

    Parameters
    ----------
    xy, ends, first_edges
        Corners [m]; the corner at which each edge ends; the first edge of each piece.
    chains, sites, spout_offsets
        As ``sites_of_all`` returns them.
    area, nodes, node_offsets, rings, ring_starts
        The planes.
    run
        Longest gutter run to one downspout. [m]

    Returns
    -------
    tuple
        Share, low and high of each downspout [m2]; owner of each plane before its first cut, counted within the
        piece, or -1; cuts: edge and owner after it, in order along the gutters; place of each cut along its edge [m].
    """
    spouts = np.zeros((sites.shape[0], 3))
    owner = np.full(xy.shape[0], -1, np.int64)
    cuts = np.empty((sites.shape[0], 2), np.int64)
    cut_at = np.empty(sites.shape[0])
    divides = np.empty((sites.shape[0], 2))
    reach = np.empty(sites.shape[0])
    made = int(np.int64(0))
    for c in range(chains.shape[0]):
        p = chains[c, 0]
        s = chains[c, 4]
        chain = chains[c]
        base = xy[first_edges[p]]
        node = nodes[node_offsets[p] : node_offsets[p + 1]]
        total, length = reach_of_sites(xy, ends, chain, base, area, node, rings, ring_starts, sites[s:], reach)
        number = s - spout_offsets[p]
        owns = divides_of_chain(chain, number, sites[s:], reach, total, length, run, spouts[s:], divides)
        made = own_planes(
            xy, ends, chain, base, area, node, rings, ring_starts, divides, total, owns, owner, cuts, cut_at, made
        )
    return spouts, owner, cuts[:made], cut_at[:made]
