"""Second visit to a tile: with the graph solved, its levels, ways, filled heights, accumulation and hollows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.sources import Window
from screening.terrain.codes import CODE_OF_WAY
from screening.terrain.kernels.finish import (
    accumulate,
    accumulate_low,
    add_inflows,
    basin_levels,
    carve_ways,
    count_inflows,
    fill_cells,
    hang_parts,
    onward_cells,
    start_low,
    write_carved,
    write_codes,
)
from screening.terrain.kernels.hollows import measure_hollows
from screening.terrain.tiles import HAS_WALLS, Basins, Heights, Orders, Workspace

__all__ = ["HollowParts", "Layers", "finish_tile"]


@dataclass(frozen=True, eq=False)
class Layers:
    """Arrays to write a tile to, and the row and column of its first cell in them; None where not wanted."""

    filled: NDArray[Any]
    direction: NDArray[np.uint8]
    accumulation: NDArray[np.int64]
    conditioned: NDArray[Any] | None
    hollow_id: NDArray[np.int32] | None
    row: int
    column: int

    def at(self, window: Window) -> Layers:
        """The same arrays, to be written at a window."""
        return replace(self, row=window.row, column=window.column)

    def in_place_of(
        self, filled: NDArray[Any], direction: NDArray[np.uint8], accumulation: NDArray[np.int64]
    ) -> Layers:
        """The same layers in other arrays, which must be alike."""
        for name, mine, other in (
            ("filled", self.filled, filled),
            ("direction", self.direction, direction),
            ("accumulation", self.accumulation, accumulation),
        ):
            if mine.shape != other.shape or mine.dtype != other.dtype or not other.flags.c_contiguous:
                raise ValueError(
                    f"{name} to write to must be {mine.dtype} {mine.shape}, got {other.dtype} {other.shape}"
                )
        return replace(self, filled=filled, direction=direction, accumulation=accumulation)

    def depth(self, around: Heights, window: Window) -> NDArray[Any]:
        """Filled less height, of a tile whose layers these are."""
        place = replace(window, row=around.row, column=around.column).slices
        depth: NDArray[Any] = self.filled - around.z[place]
        return depth


@dataclass(frozen=True, eq=False)
class HollowParts:
    """The hollows of one tile: those that are there, and links across the tile's edge.

    ``totals`` has rows as in `kernels.hollows.measure_hollows`, but linear indices on the raster for the cells.
    ``out_node`` and ``out_number`` are nodes whose hollow goes on beyond the tile, with its number here; ``in_node``
    and ``in_number`` nodes of other tiles whose hollow goes on here, with the number it has here.
    """

    number: NDArray[np.int64]
    totals: NDArray[np.int64]
    bottom: NDArray[Any]
    level: NDArray[Any]
    enclosed: NDArray[np.bool_]
    out_node: NDArray[np.int64]
    out_number: NDArray[np.int64]
    in_node: NDArray[np.int64]
    in_number: NDArray[np.int64]


def finish_tile(
    work: Workspace,
    around: Heights,
    window: Window,
    basins: Basins,
    orders: Orders,
    layers: Layers,
    base: int,
    raster_columns: int,
) -> HollowParts | None:
    """Write a tile's layers; its ways and labels must stand in the workspace, as `survey_tile` left them."""
    rows, columns = window.rows, window.columns
    z, state, r0, c0, fr, fc = around.z, around.state, around.row, around.column, layers.row, layers.column
    _, way, feeders = work.views(rows, columns)
    cells, size = rows * columns, basins.sink.size
    label, step, ways = work.label[:cells], work.step, way.reshape(-1)
    level, enclosed = np.empty(size, z.dtype), np.zeros(size, np.bool_)
    hollow, stack = work.cells[0, :size], work.cells[1, :size]
    tree = basins.up_cell, basins.up_k, basins.up_top, basins.up
    hang_parts(
        label, step, orders.cell, orders.k, orders.top, orders.crosses, orders.level, orders.enclosed, *tree, level,
        enclosed, hollow,
    )  # fmt: skip
    walls = bool(basins.seen & HAS_WALLS)
    basin_levels(state, r0, c0, columns, walls, step, *tree, level, enclosed, hollow, stack)
    carve_ways(ways, rows, columns, step, basins.sink, basins.up_cell, basins.up_k)
    count_inflows(way, rows, columns, feeders)
    flow, onward, queue = work.flow[: cells + 1], work.edge_cell[:cells], work.edge_cell[cells : 2 * cells + 1]
    low = work.low[: cells + 1 if layers.conditioned is not None else 0]
    fill_cells(z, state, r0, c0, label, level, feeders, layers.filled, fr, fc, flow)
    onward_cells(ways, step, onward)
    flow[cells] = 0
    if layers.conditioned is None:
        add_inflows(orders.inflow_cell, orders.inflow_mass, orders.inflow_low, flow, low)
        accumulate(onward, flow, queue)
    else:
        start_low(z, state, r0, c0, columns, low[:cells])
        add_inflows(orders.inflow_cell, orders.inflow_mass, orders.inflow_low, flow, low)
        accumulate_low(onward, flow, queue, low)
        write_carved(z, state, r0, c0, columns, low[:cells], layers.conditioned, fr, fc)
    write_codes(way, CODE_OF_WAY, state, r0, c0, flow, layers.direction, layers.accumulation, fr, fc)
    if layers.hollow_id is None:
        return None
    totals, bottom = np.zeros((5, size), np.int64), np.empty(size, z.dtype)
    totals[0] = -1
    measure_hollows(
        z, state, r0, c0, columns, label, level, enclosed, hollow, base, layers.hollow_id, fr, fc, totals, bottom
    )
    there = np.flatnonzero(totals[0] >= 0)
    totals = totals[:, there]
    totals[:2] = (window.row + totals[:2] // columns) * raster_columns + window.column + totals[:2] % columns
    leaving, entering = np.flatnonzero(orders.crosses & orders.shares), np.flatnonzero(orders.inflow_node >= 0)
    number = base + hollow.astype(np.int64)
    return HollowParts(
        base + there, totals, bottom[there], level[there], enclosed[there],
        orders.node + leaving, number[label[orders.cell[leaving]]],
        orders.inflow_node[entering], number[label[orders.inflow_cell[entering]]],
    )  # fmt: skip
