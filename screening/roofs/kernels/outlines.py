"""Outlines of roof shares, and the loop over all pieces that makes them."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.chains import SPOUT_COLUMNS, Piece
from screening.roofs.kernels.divide import FROM, OWNER, PLANE, SIDES, TO, Work, new_work, next_side
from screening.roofs.kernels.drains import drain_piece, outline_piece
from screening.roofs.kernels.wavefronts import grown

TAKEN: Final = -2
"""Plane number of a side that an outline has used."""


@compiled
def trace(w: Work, owner: int, xy: np.ndarray, at: int, loops: np.ndarray, loop: int) -> tuple[int, int]:
    """Write the outlines of one share as rings that do not close; the next free corner and ring."""
    for i in range(w.count[SIDES]):
        if w.side[i, OWNER] != owner or w.side[i, PLANE] == TAKEN:
            continue
        j = i
        start = at
        while j >= 0:
            k = w.side[j, FROM]
            xy[at, 0] = w.xy[k, 0]
            xy[at, 1] = w.xy[k, 1]
            at += 1
            w.side[j, PLANE] = TAKEN
            if w.side[j, TO] == w.side[i, FROM]:
                break
            j = next_side(w, j)
        if at - start >= 3:
            loop += 1
            loops[loop, 0] = at
        else:
            at = start
    return at, loop


@compiled
def loops_area(xy: np.ndarray, loops: np.ndarray, first: int, last: int) -> float:
    """Area within rings first to last. [m2]"""
    total = 0.0
    for k in range(first, last):
        a = loops[k, 0]
        b = loops[k + 1, 0]
        x0 = xy[a, 0]
        y0 = xy[a, 1]
        for i in range(a + 1, b - 1):
            total += 0.5 * ((xy[i, 0] - x0) * (xy[i + 1, 1] - y0) - (xy[i + 1, 0] - x0) * (xy[i, 1] - y0))
    return total


@compiled
def shares_of_all(
    xy: np.ndarray,
    ring_offsets: np.ndarray,
    piece_offsets: np.ndarray,
    kind: np.ndarray,
    area: np.ndarray,
    nodes: np.ndarray,
    node_offsets: np.ndarray,
    planes: np.ndarray,
    plane_starts: np.ndarray,
    given_offsets: np.ndarray,
    given_edge: np.ndarray,
    given_at: np.ndarray,
    run: float,
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Downspouts and shares of every roof piece.

    Parameters
    ----------
    xy, ring_offsets, piece_offsets
        Corners, rings and pieces, as in ``planes_of_all``.
    kind
        Class of each edge: EAVE, COURT, GABLE or PARTY.
    area, nodes, node_offsets, planes, plane_starts
        Planes, as ``planes_of_all`` returns them.
    given_offsets, given_edge, given_at
        First given downspout of each piece; its edge, numbered within the piece; its place along the edge. [m]
    run
        Longest gutter run to one downspout. [m]

    Returns
    -------
    tuple
        Downspouts (x, y, outward normal x and y, share, low, high) and number of the given one or -1; first downspout
        of each piece; shares' downspouts, counted within the piece, -1 where not led; shares' areas [m2]; first share
        of each piece; first outline of each share; corners of outlines; first corner of each outline.
    """
    pieces = piece_offsets.shape[0] - 1
    spouts = np.empty((64, SPOUT_COLUMNS))
    spout_given = np.empty((64, 1), np.int64)
    spout_offsets = np.zeros(pieces + 1, np.int64)
    share_spout = np.empty((64, 1), np.int64)
    share_area = np.empty((64, 1))
    share_offsets = np.zeros(pieces + 1, np.int64)
    share_loops = np.zeros((64, 1), np.int64)
    outline = np.empty((64, 2))
    loops = np.zeros((64, 1), np.int64)
    at = np.int64(0)
    loop = np.int64(0)
    for i in range(pieces):
        r0 = piece_offsets[i]
        r1 = piece_offsets[i + 1]
        a = ring_offsets[r0]
        b = ring_offsets[r1]
        p = Piece(
            xy[a:b] - xy[a],
            ring_offsets[r0 : r1 + 1] - a,
            kind[a:b],
            nodes[node_offsets[i] : node_offsets[i + 1], :2],
            planes[plane_starts[a] : plane_starts[b]],
            plane_starts[a : b + 1],
            area[a:b],
            given_edge[given_offsets[i] : given_offsets[i + 1]],
            given_at[given_offsets[i] : given_offsets[i + 1]],
        )
        around = 0.0
        for e in range(a, b - 1):
            around += abs(xy[e + 1, 0] - xy[e, 0]) + abs(xy[e + 1, 1] - xy[e, 1])
        most = 4 * (b - a + p.given_edge.shape[0]) + int(2.0 * around / run) + 16
        w = new_work(p.plane.shape[0], p.nodes.shape[0], most)
        owner = np.full(b - a, -1, np.int64)
        s = spout_offsets[i]
        spouts = grown(spouts, s + most)
        spout_given = grown(spout_given, s + most)
        k = drain_piece(p, run, w, spouts[s:], spout_given[s:, 0], owner)
        spout_offsets[i + 1] = s + k
        outline_piece(p, w, owner)
        t = share_offsets[i]
        room = k + r1 - r0
        share_spout = grown(share_spout, t + room)
        share_area = grown(share_area, t + room)
        share_loops = grown(share_loops, t + room + 1)
        outline = grown(outline, at + w.count[SIDES])
        loops = grown(loops, loop + w.count[SIDES] + 1)
        for q in range(room):
            before = loop
            start = at
            at, loop = trace(w, q, outline, at, loops, loop)
            if loop == before:
                continue
            share_spout[t, 0] = q if q < k else -1
            share_area[t, 0] = loops_area(outline, loops, before, loop)
            outline[start:at] += xy[a]
            t += 1
            share_loops[t, 0] = loop
        share_offsets[i + 1] = t
        for q in range(s, s + k):
            spouts[q, 0] += xy[a, 0]
            spouts[q, 1] += xy[a, 1]
    n = spout_offsets[pieces]
    t = share_offsets[pieces]
    return (
        spouts[:n],
        spout_given[:n, 0],
        spout_offsets,
        share_spout[:t, 0],
        share_area[:t, 0],
        share_offsets,
        share_loops[: t + 1, 0],
        outline[:at],
        loops[: loop + 1, 0],
    )
