"""First visit to a tile: its basins, joined as far as the tile can tell, and the edges the graph must judge."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.grid import WALL
from screening.sources import Window
from screening.terrain.arcs import EDGES
from screening.terrain.codes import COLUMN_STEP, ROW_STEP
from screening.terrain.kernels.basins import find_edges, label_basins, measure_parts, rim_parts
from screening.terrain.kernels.contract import contract, number_parts, radix_order, sortable
from screening.terrain.kernels.ways import first_ways, load_tile, raise_walls, special_ways
from screening.terrain.tiles import HAS_GROUND, HAS_OUTLETS, HAS_WALLS, Basins, Heights, Survey, Workspace

__all__ = ["join_tile", "survey_tile"]


@dataclass(frozen=True, eq=False)
class _Joined:
    """A tile whose basins are joined as far as it can tell; its arrays are the workspace's, good until the next tile.

    ``part`` is the part of each basin, ``uncertain`` the inner edges left, ``across`` how many leave the tile.
    """

    zt: NDArray[Any]
    way: NDArray[np.uint8]
    basins: Basins
    part: NDArray[np.int32]
    nodes: int
    uncertain: NDArray[np.int32]
    across: int


def join_tile(work: Workspace, around: Heights, window: Window) -> _Joined:
    """Find a tile's basins and join them as far as it can tell; its cells' ways and labels stay in the workspace.

    Parameters
    ----------
    work
        Buffers; one tile at a time.
    around
        Heights and states of the tile and two cells around it (where the raster goes on).
    window
        Where the tile lies on the raster.
    """
    rows, columns = window.rows, window.columns
    z, state, r0, c0 = around.z, around.state, around.row, around.column
    zt, way, lower = work.views(rows, columns)
    label, step = work.label[: rows * columns], work.step
    seen = load_tile(z, state, r0, c0, zt)
    first_ways(zt, *work.over, way, lower)
    if seen & (HAS_WALLS | HAS_OUTLETS):
        raise_walls(z, state, r0, c0, ROW_STEP, COLUMN_STEP, zt)
        special_ways(state, r0, c0, ROW_STEP, COLUMN_STEP, zt, way, lower)
    count = label_basins(way.reshape(-1), rows, columns, step, label, work.sink, work.cells[0])
    sink = work.sink[: count + 1]
    order, ground, across = _edges(work, around, zt, way, lower, seen)
    basins, part, nodes, uncertain = _contract(work, rows, columns, sink, order, ground, seen)
    return _Joined(zt, way, basins, part, nodes, uncertain, across)


def survey_tile(work: Workspace, around: Heights, window: Window, raster_columns: int) -> tuple[Survey, Basins]:
    """Survey a tile: join it as `join_tile` does, and list what the graph must know.

    ``raster_columns`` are those of the whole raster, for linear indices.
    """
    joined = join_tile(work, around, window)
    rows, columns = window.rows, window.columns
    z, state, r0, c0 = around.z, around.state, around.row, around.column
    zt, way, part, sink = joined.zt, joined.way, joined.part, joined.basins.sink
    label, step = work.label[: rows * columns], work.step
    mass, low = np.empty(joined.nodes + 1, np.int64), np.empty(joined.nodes + 1)
    walls = bool(joined.basins.seen & HAS_WALLS)
    counters = work.counters[: part.size]
    measure_parts(z, state, r0, c0, rows, columns, walls, label, sink, part, counters, mass, low)
    rim_node, rim_crest = np.empty(2 * (rows + columns), np.int32), np.empty(2 * (rows + columns))
    rim_parts(zt, label, part, rim_node, rim_crest)

    exits = sink[1:][way.reshape(-1)[sink[1:]] < 8]
    across, inner = work.across_cell[: joined.across], joined.uncertain
    cell = np.concatenate([exits, across, work.edge_cell[inner]])
    k = np.concatenate([way.reshape(-1)[exits], work.across_k[: joined.across], work.edge_k[inner]])
    near, far = part[label[cell]], np.full(cell.size, -1, np.int32)
    first = cell.size - inner.size
    far[first:] = part[label[cell[first:] + step[k[first:]]]]
    r, c = cell // columns, cell % columns
    height = zt[1 + r, 1 + c].astype(np.float64)
    top = np.concatenate([height[:first], work.top[inner]])
    index = (window.row + r.astype(np.int64)) * raster_columns + window.column + c
    wall = state[r0 + r, c0 + c] == WALL
    ground = bool(joined.basins.seen & HAS_GROUND)
    survey = Survey(window, ground, mass, low, rim_node, rim_crest, exits.size, near, far, index, k, height, top, wall)
    return survey, joined.basins


def _edges(
    work: Workspace, around: Heights, zt: NDArray[Any], way: NDArray[np.uint8], lower: NDArray[np.uint8], seen: int
) -> tuple[NDArray[np.int32], int, int]:
    """List the possible edges; return the order of the inner ones, how many of them are of ground, how many leave."""
    state, r0, c0 = around.state, around.row, around.column
    label, todo, mixed = work.label[: way.size], work.cells[0], bool(seen & HAS_WALLS)
    inside, across = 0, 0
    sorted_parts = []
    for walls in (False, True) if mixed else (False,):
        edges = slice(inside, None)
        more, out = find_edges(
            zt, state, r0, c0, walls, mixed, way, lower, label, EDGES, work.step, todo, work.edge_cell[edges],
            work.edge_k[edges], work.pair[edges], work.key[edges], work.top[edges], work.across_cell[across:],
            work.across_k[across:],
        )  # fmt: skip
        bits = work.key[inside : inside + more].view(np.uint64)
        sortable(bits)
        order = np.arange(inside, inside + more, dtype=np.int32)
        radix_order(bits, order, work.flow.view(np.uint64), work.cells[1])
        sorted_parts.append(order)
        inside, across = inside + more, across + out
    return np.concatenate(sorted_parts), sorted_parts[0].size, across


def _contract(
    work: Workspace,
    rows: int,
    columns: int,
    sink: NDArray[np.int32],
    order: NDArray[np.int32],
    ground: int,
    seen: int,
) -> tuple[Basins, NDArray[np.int32], int, NDArray[np.int32]]:
    """Contract the tile's basins; return them, the part of each, the number of parts and the uncertain edges.

    An uncertain edge through a wall must join two anchors: heights along a way through walls do not follow the order
    of the edges, so the way within a part must not matter. Basins where it would are made anchors, and all is joined
    anew.
    """
    label, size = work.label[: rows * columns].reshape(rows, columns), sink.size
    anchors = np.zeros(size, np.uint8)
    for rim in (label[0], label[-1], label[:, 0], label[:, -1]):
        anchors[rim] = 1
    anchors[0] = 1
    parent, group, sizes = work.cells[0, :size], work.cells[1, :size], work.cells[2, :size]
    up_cell, up_k, up = np.empty(size, np.int32), np.empty(size, np.uint8), np.empty(size, np.int32)
    up_top, uncertain = np.empty(size, work.top.dtype), np.empty(size, np.int32)
    while True:
        count = contract(
            order, work.edge_cell, work.edge_k, work.pair, work.top, work.step, anchors.copy(), parent, group, sizes,
            up_cell, up_k, up_top, up, uncertain,
        )  # fmt: skip
        through = work.pair[uncertain[:count][uncertain[:count] >= ground]]
        ends = np.concatenate([through >> 32, through & 0xFFFFFFFF])
        if anchors[ends].all():
            break
        anchors[ends] = 1
    nodes = number_parts(anchors, parent, sizes, group)
    return Basins(sink.copy(), up_cell, up_k, up_top, up, seen), group, nodes, uncertain[:count].copy()
