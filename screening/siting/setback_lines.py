"""A lot's own lines: which face a street, how far a garden keeps from each, and the parts too narrow to count."""

from __future__ import annotations

from typing import Any, Final
from weakref import WeakKeyDictionary

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from screening.area import AreaContext, Block
from screening.siting.burning import segments
from screening.siting.setback_rows import no_rows, setback_rows

__all__ = ["STREET_LINE_REACH_M", "lot_lines", "narrow_parts", "side_lines", "street_lines"]

STREET_LINE_REACH_M: Final = 6.5
"""A lot's edge within this distance of a street line, facing it, is a street line: half a narrow right of way."""

_PIECE_M: Final = 5.0


def side_lines(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Side and rear lot lines, each for its own lot."""
    return _lines(block, context, street=False)


def street_lines(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Street lines, each for its own lot."""
    return _lines(block, context, street=True)


def narrow_parts(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Parts of lots too narrow to be ground for a garden: the pole of a flag lot, a strip kept for access.

    A lot that is narrow all over keeps its ground.
    """
    half = context.rules.narrow_part_m / 2.0
    lots = block.lots.geometry.to_numpy()
    if half == 0 or not len(lots):
        return no_rows(context)
    core = shapely.buffer(lots, -half, join_style="mitre", mitre_limit=10.0)
    wide = shapely.buffer(core, half * (1 + 1e-6), join_style="mitre", mitre_limit=10.0)
    some = np.flatnonzero(~shapely.is_empty(core) & (shapely.area(lots) - shapely.area(wide) > half * half))
    parts, index = shapely.get_parts(shapely.difference(lots[some], wide[some]), return_index=True)
    large = shapely.area(parts) > half * half
    return setback_rows(context, parts[large], 0.0, lot=some[index[large]])


def _lines(block: Block, context: AreaContext, *, street: bool) -> gpd.GeoDataFrame:
    rules = context.rules
    start, end, lot, faces = lot_lines(block)
    kept = faces == street
    order = np.argsort(lot[kept], kind="stable")
    lines = np.asarray(shapely.linestrings(np.stack([start[kept], end[kept]], axis=1)[order]))
    owners, first = np.unique(lot[kept][order], return_inverse=True)
    if not len(owners):
        return no_rows(context)
    together = shapely.multilinestrings(lines, indices=first)
    clearance = rules.street_line_setback_m if street else rules.side_line_setback_m
    return setback_rows(context, together, clearance, lot=owners)


Lines = tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64], NDArray[np.bool_]]
_READ: WeakKeyDictionary[Block, Lines] = WeakKeyDictionary()


def lot_lines(block: Block) -> Lines:
    """Edges of the block's lots, cut where they cease to face a street.

    Parameters
    ----------
    block
        The block; without streets no edge faces one. Read once.

    Returns
    -------
    tuple
        Starts and ends, shape (n, 2) [m]; positions of their lots; whether they face a street.
    """
    found = _READ.get(block)
    if found is None:
        found = _READ[block] = _lot_lines(block, STREET_LINE_REACH_M)
    return found


def _lot_lines(block: Block, reach_m: float) -> Lines:
    edges = segments(block.lots.geometry.to_numpy())
    streets = block.layers.get("streets")
    faces = np.zeros(len(edges.thing), dtype=bool)
    if streets is None or not len(streets) or not len(edges.thing):
        return edges.start, edges.end, edges.thing, faces
    along = segments(streets.geometry.to_numpy())
    edge, street = _near(edges.start, edges.end, along.start, along.end, reach_m)
    touched = np.unique(edge)
    count = np.ones(len(edges.thing), dtype=np.int64)
    count[touched] = np.ceil(np.hypot(*(edges.end - edges.start)[touched].T) / _PIECE_M).astype(np.int64).clip(1)
    owner = np.repeat(np.arange(len(count)), count)
    offset = np.concatenate([[0], np.cumsum(count)])
    step = (np.arange(offset[-1]) - offset[owner])[:, None] / count[owner][:, None]
    way = (edges.end - edges.start)[owner]
    start, end = edges.start[owner] + step * way, edges.start[owner] + (step + 1.0 / count[owner][:, None]) * way
    piece = np.concatenate([np.arange(offset[e], offset[e + 1]) for e in edge]) if len(edge) else edge
    other = np.repeat(street, count[edge])
    hit = _faces(start[piece], end[piece], along.start[other], along.end[other], reach_m)
    faces = np.zeros(len(owner), dtype=bool)
    faces[piece[hit]] = True
    return _runs(start, end, owner, edges.thing, faces)


def _near(
    start: NDArray[Any], end: NDArray[Any], street_start: NDArray[Any], street_end: NDArray[Any], reach_m: float
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of edge and street segment within reach, in order of the edges."""
    tree = shapely.STRtree(np.asarray(shapely.linestrings(np.stack([street_start, street_end], axis=1))))
    lines = shapely.linestrings(np.stack([start, end], axis=1))
    edge, street = tree.query(lines, predicate="dwithin", distance=reach_m)
    order = np.lexsort((street, edge))
    return edge[order], street[order]


def _faces(
    start: NDArray[Any], end: NDArray[Any], street_start: NDArray[Any], street_end: NDArray[Any], reach_m: float
) -> NDArray[np.bool_]:
    """Whether pieces of edges run beside street segments, rather than up to them."""
    middle = (start + end) / 2.0
    way = street_end - street_start
    length2 = np.maximum((way**2).sum(axis=1), 1e-12)
    t = np.clip(((middle - street_start) * way).sum(axis=1) / length2, 0.0, 1.0)
    to_street = street_start + t[:, None] * way - middle
    distance = np.hypot(*to_street.T)
    on_line = distance < 0.1
    across = np.where(on_line[:, None], np.column_stack([-way[:, 1], way[:, 0]]), to_street)
    piece = end - start
    turn = np.abs((piece * across).sum(axis=1))
    beside = turn <= np.sqrt(0.5) * np.hypot(*piece.T) * np.hypot(*across.T)
    facing: NDArray[np.bool_] = (distance <= reach_m) & beside
    return facing


def _runs(
    start: NDArray[Any], end: NDArray[Any], edge: NDArray[Any], lot_of_edge: NDArray[Any], faces: NDArray[Any]
) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Join neighbouring pieces of one edge that are alike."""
    first = np.concatenate([[True], (edge[1:] != edge[:-1]) | (faces[1:] != faces[:-1])])
    starts = np.flatnonzero(first)
    ends = np.concatenate([starts[1:], [len(edge)]]) - 1
    return start[starts], end[ends], lot_of_edge[edge[starts]], faces[starts]
