"""A lot's own edges, and the street that each faces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from screening.area import Block
from screening.siting.burning import Segments, segments

__all__ = ["REACH_LEAST_M", "REACH_MOST_M", "LotLines", "lot_lines"]

REACH_LEAST_M: Final = 6.5
"""An edge that faces a street line within this distance is a street line: half a narrow right of way. [m]"""

REACH_MOST_M: Final = 15.0
"""Half the widest right of way: an edge farther from a street line than this is none of its lines. [m]"""

REACH_X_NEAREST: Final = 1.5
"""Between the two, a lot's edges reach so many times as far as the nearest of them: its right of way is that wide."""

_PIECE_M: Final = 5.0


@dataclass(frozen=True, eq=False)
class LotLines:
    """Edges of lots, cut where they cease to face a street.

    Parameters
    ----------
    start, end
        Ends, float64, shape (n, 2). [m]
    lot
        Position of the lot of each, int64.
    street
        Number, in the layer, of the street line that each faces, -1 where it faces none, int64.
    """

    start: NDArray[np.float64]
    end: NDArray[np.float64]
    lot: NDArray[np.int64]
    street: NDArray[np.int64]


def lot_lines(block: Block) -> LotLines:
    """Edges of the block's lots and the streets they face, read once a block.

    An edge faces a street when it runs beside it, within ``REACH_LEAST_M``, or as far out as the lot's right of way
    seems to be wide when no other lot lies between. Without streets no edge faces one.
    """
    return block.once(lot_lines, lambda: _read(block))


def _read(block: Block) -> LotLines:
    edges = segments(block.lots.geometry.to_numpy())
    streets = block.layers.get("streets")
    if streets is None or not len(streets) or not len(edges.thing):
        return LotLines(edges.start, edges.end, edges.thing, np.full(len(edges.thing), -1))
    along = segments(streets.geometry.to_numpy())
    edge, other = _near(edges, along)
    pieces, edge_of, piece, other = _cut(edges, edge, other)
    distance, foot = _facing(pieces, piece, along, other)
    order = np.lexsort((along.thing[other], distance, piece))
    order = order[np.isfinite(distance[order])]
    best = order[np.unique(piece[order], return_index=True)[1]]
    best = best[_free(block, pieces, piece[best], foot[best], distance[best])]
    nearest = np.full(len(block.lots), np.inf)
    np.minimum.at(nearest, pieces.thing[piece[best]], distance[best])
    reach = np.clip(REACH_X_NEAREST * nearest, REACH_LEAST_M, REACH_MOST_M)
    best = best[distance[best] <= reach[pieces.thing[piece[best]]]]
    street = np.full(len(pieces.thing), -1)
    street[piece[best]] = along.thing[other[best]]
    return _runs(pieces, edge_of, street)


def _near(edges: Segments, along: Segments) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of edge and street segment within the widest reach, in order of the edges."""
    tree = shapely.STRtree(np.asarray(shapely.linestrings(np.stack([along.start, along.end], axis=1))))
    lines = shapely.linestrings(np.stack([edges.start, edges.end], axis=1))
    edge, street = tree.query(lines, predicate="dwithin", distance=REACH_MOST_M)
    order = np.lexsort((street, edge))
    return edge[order], street[order]


def _cut(
    edges: Segments, edge: NDArray[np.int64], other: NDArray[np.int64]
) -> tuple[Segments, NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Cut the edges near a street into pieces: the pieces, their edges, and pairs of piece and street segment."""
    count = np.ones(len(edges.thing), dtype=np.int64)
    near = np.unique(edge)
    count[near] = np.ceil(np.hypot(*(edges.end - edges.start)[near].T) / _PIECE_M).astype(np.int64).clip(1)
    offset = np.concatenate([[0], np.cumsum(count)])
    edge_of = np.repeat(np.arange(len(count)), count)
    share = ((np.arange(offset[-1]) - offset[edge_of]) / count[edge_of])[:, None]
    way = (edges.end - edges.start)[edge_of]
    start = edges.start[edge_of] + share * way
    end = edges.start[edge_of] + (share + 1.0 / count[edge_of][:, None]) * way
    each = count[edge]
    first = np.concatenate([[0], np.cumsum(each)])
    piece = np.repeat(offset[edge] - first[:-1], each) + np.arange(first[-1])
    return Segments(start, end, edges.thing[edge_of]), edge_of, piece, np.repeat(other, each)


def _facing(
    pieces: Segments, piece: NDArray[np.int64], along: Segments, other: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Distance from the middle of each piece to its street segment, infinite unless it runs beside it; the foot."""
    start, end = pieces.start[piece], pieces.end[piece]
    middle, run = (start + end) / 2.0, end - start
    way = along.end[other] - along.start[other]
    share = ((middle - along.start[other]) * way).sum(axis=1) / np.maximum((way**2).sum(axis=1), 1e-12)
    foot = along.start[other] + np.clip(share, 0.0, 1.0)[:, None] * way
    to_street = foot - middle
    distance = np.hypot(*to_street.T)
    # a lot's line drawn on the street line itself has no way to it: there the street's own direction tells
    across = np.where((distance < 0.1)[:, None], np.column_stack([-way[:, 1], way[:, 0]]), to_street)
    turn = np.abs((run * across).sum(axis=1))
    beside = turn <= np.sqrt(0.5) * np.hypot(*run.T) * np.hypot(*across.T)
    return np.where(beside & (distance <= REACH_MOST_M), distance, np.inf), foot


def _free(
    block: Block, pieces: Segments, piece: NDArray[np.int64], foot: NDArray[np.float64], distance: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Whether the way from each piece to its street is short, or crosses no lot."""
    free = np.ones(len(piece), dtype=bool)
    far = np.flatnonzero(distance > REACH_LEAST_M)
    if len(far):
        middle = (pieces.start[piece[far]] + pieces.end[piece[far]]) / 2.0
        ways = np.asarray(shapely.linestrings(np.stack([middle, foot[far]], axis=1)))
        shapes = block.layers["lots"].geometry.to_numpy()
        way, lot = shapely.STRtree(shapes).query(ways, predicate="intersects")
        crossed = shapely.length(shapely.intersection(ways[way], shapes[lot])) > 0.5
        free[far[way[crossed]]] = False
    return free


def _runs(pieces: Segments, edge: NDArray[np.int64], street: NDArray[np.int64]) -> LotLines:
    """Join neighbouring pieces of one edge that face the same."""
    first = np.concatenate([[True], (edge[1:] != edge[:-1]) | (street[1:] != street[:-1])])
    starts = np.flatnonzero(first)
    ends = np.concatenate([starts[1:], [len(edge)]]) - 1
    return LotLines(pieces.start[starts], pieces.end[ends], pieces.thing[starts], street[starts])
