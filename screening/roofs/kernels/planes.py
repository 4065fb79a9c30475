"""Roof planes of many footprints from their wavefronts."""

from __future__ import annotations

from typing import Final

import numpy as np

from screening.jit import compiled
from screening.roofs.kernels.advance import DONE
from screening.roofs.kernels.faces import arcs_hold, chain_face, simple_area, unify_nodes
from screening.roofs.kernels.wave import SPEED

AREA_TOLERANCE: Final = 1e-10


@compiled
def planes_of_one(
    rings: np.ndarray,
    node: np.ndarray,
    arc: np.ndarray,
    line: np.ndarray,
    tolerance: float,
    same: np.ndarray,
    used: np.ndarray,
    ring: np.ndarray,
    start: np.ndarray,
    area: np.ndarray,
) -> bool:
    """Chain the planes of a footprint and check them; ``start`` holds where the first one starts in ``ring``.

    Every arc must be used, every plane simple and of some area, and all together the footprint.
    """
    base = rings[0]
    unify_nodes(node, arc, line, rings[-1] - base, same)
    for i in range(arc.shape[0]):
        used[i, 0] = 0
        used[i, 1] = 0
    total = 0.0
    footprint = 0.0
    for r in range(rings.shape[0] - 1):
        for i in range(rings[r], rings[r + 1]):
            e = i - base
            end = e + 1 if i + 1 < rings[r + 1] else rings[r] - base
            footprint += 0.5 * (node[e, 0] * node[end, 1] - node[end, 0] * node[e, 1])
            area[e] = 0.0
            at = start[e]
            start[e + 1] = at
            if line[e, SPEED] > 0.0:
                stop = chain_face(node, arc, line, e, end, ring, at, same, used)
                if stop < at + 3:
                    return False
                area[e] = simple_area(node, ring, at, stop)
                if area[e] <= 0.0:
                    return False
                total += area[e]
                start[e + 1] = stop
    return abs(total - footprint) <= AREA_TOLERANCE * footprint and arcs_hold(node, arc, line, used, tolerance)


@compiled
def planes_of_all(
    ring_offsets: np.ndarray,
    piece_offsets: np.ndarray,
    ends: np.ndarray,
    nodes: np.ndarray,
    arcs: np.ndarray,
    lines: np.ndarray,
    tolerance: float,
    same: np.ndarray,
    used: np.ndarray,
    held: np.ndarray,
    area: np.ndarray,
    ring: np.ndarray,
    start: np.ndarray,
) -> None:
    """Roof planes of every footprint; one that does not hold has none.

    Parameters
    ----------
    ring_offsets, piece_offsets, ends, nodes, arcs, lines
        As ``wavefronts_of_all`` takes and fills them.
    tolerance
        How far a node may be off the distance at which the fronts reached it. [m]
    same, used
        Working space: two for each node, and for each arc, of one footprint.
    held
        Is filled with whether the planes of each footprint hold.
    area
        Is filled with the area of each edge's plane. [m2]
    ring, start
        Are filled with the nodes around each plane, numbered within its footprint, and the first of them for each edge.
    """
    start[0] = 0
    for p in range(piece_offsets.shape[0] - 1):
        rings = ring_offsets[piece_offsets[p] : piece_offsets[p + 1] + 1]
        node = nodes[ends[p, 1] : ends[p + 1, 1]]
        arc = arcs[ends[p, 2] : ends[p + 1, 2]]
        line = lines[ends[p, 3] : ends[p + 1, 3]]
        held[p] = False
        if ends[p, 0] == DONE:
            held[p] = planes_of_one(
                rings, node, arc, line, tolerance, same, used, ring, start[rings[0] :], area[rings[0] :]
            )
        if not held[p]:
            for e in range(rings[0], rings[-1]):
                area[e] = 0.0
                start[e + 1] = start[rings[0]]
