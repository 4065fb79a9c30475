"""What passes between the work on one tile and the graph of the whole raster."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.sources import Window
from screening.terrain.codes import COLUMN_STEP, ROW_STEP

__all__ = [
    "HAS_GROUND",
    "HAS_OUTLETS",
    "HAS_WALLS",
    "Basins",
    "Heights",
    "Orders",
    "Survey",
    "Workspace",
    "tile_windows",
]

HAS_WALLS = 1
"""Bit of ``Basins.seen`` for a tile with walls in it or beside it."""
HAS_OUTLETS = 2
"""Bit of ``Basins.seen`` for a tile with given outlets in it or beside it."""
HAS_GROUND = 4
"""Bit of ``Basins.seen`` for a tile with ground in it or beside it."""


@dataclass(frozen=True, eq=False)
class Heights:
    """Heights and states around a tile, and where the tile lies in them."""

    z: NDArray[Any]
    state: NDArray[np.uint8]
    row: int
    column: int


@dataclass(frozen=True, eq=False)
class Survey:
    """What the graph must know of a tile. Nodes are its parts, from 1; node 0 is outside.

    Parameters
    ----------
    window
        Where the tile lies.
    ground
        Whether there is ground in it or beside it.
    mass, low
        Cells of ground of each node and the lowest of them; without use for node 0.
    rim_node, rim_crest
        Node and crest of each cell on the rim.
    certain
        The first so many edges leave the tile and are of the tree; other edges that leave it follow, then those
        between two nodes of the tile.
    near, far
        Nodes of an edge, that of its higher cell first; ``far`` is -1 where the edge leaves the tile.
    cell, k
        Linear index on the raster of the higher cell, and the direction to the other.
    key, crest, wall
        Height of the higher cell; greatest height on the way through the edge, as far as the tile knows it; whether
        the higher cell is a wall.
    """

    window: Window
    ground: bool
    mass: NDArray[np.int64]
    low: NDArray[np.float64]
    rim_node: NDArray[np.int32]
    rim_crest: NDArray[np.float64]
    certain: int
    near: NDArray[np.int32]
    far: NDArray[np.int32]
    cell: NDArray[np.int64]
    k: NDArray[np.uint8]
    key: NDArray[np.float64]
    crest: NDArray[np.float64]
    wall: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Basins:
    """What a tile must know of itself to be finished, beside the ways and labels of its cells.

    ``sink`` is each basin's last cell; ``up_cell``, ``up_k``, ``up_top`` and ``up`` the edge that leads on to the next
    basin of its part, the height it crosses and that basin (-1 at the part's anchor); ``seen`` the states met.
    """

    sink: NDArray[np.int32]
    up_cell: NDArray[np.int32]
    up_k: NDArray[np.uint8]
    up_top: NDArray[Any]
    up: NDArray[np.int32]
    seen: int


@dataclass(frozen=True, eq=False)
class Orders:
    """What the graph tells a tile.

    Parameters
    ----------
    node
        Number on the graph of the tile's first node.
    cell, k, top, crosses
        For each node the cell (of the tile) that its edge towards the root starts from, the direction, the height it
        crosses, and whether it leaves the tile.
    level, enclosed, shares
        Level of the node, whether its way out crosses a wall, and whether its hollow goes on beyond the edge; they
        matter where the edge leaves the tile.
    inflow_cell, inflow_mass, inflow_low, inflow_node
        For each edge that comes in from another tile: the cell (of the tile) it leads to, the cells of ground and the
        lowest of them beyond, and the node it comes from (-1 where no hollow is shared).
    """

    node: int
    cell: NDArray[np.int32]
    k: NDArray[np.uint8]
    top: NDArray[np.float64]
    crosses: NDArray[np.bool_]
    level: NDArray[np.float64]
    enclosed: NDArray[np.bool_]
    shares: NDArray[np.bool_]
    inflow_cell: NDArray[np.int32]
    inflow_mass: NDArray[np.int64]
    inflow_low: NDArray[np.float64]
    inflow_node: NDArray[np.int64]


class Workspace:
    """Buffers for tiles up to a size; one for each thread.

    The edges left by pruning could be drawn without crossing, so there are fewer than three a cell.
    """

    def __init__(self, side: tuple[int, int], cell_m: tuple[float, float], dtype: np.dtype[Any]) -> None:
        rows, columns = side
        size, rim = rows * columns, 2 * (rows + columns)
        self.over = 1.0 / cell_m[0], 1.0 / cell_m[1], 1.0 / math.hypot(*cell_m)
        self.step = np.zeros(32, np.int32)
        self.label = np.empty(size, np.int32)
        self.sink = np.empty(size + 1, np.int32)
        self.cells = np.empty((3, size + 1), np.int32)
        self.counters = np.empty((size + 1, 4), np.int32)
        self.key = np.empty(3 * size, np.float64)
        self.top = np.empty(3 * size, dtype)
        self.pair = np.empty(3 * size, np.int64)
        self.edge_cell = np.empty(3 * size, np.int32)
        self.edge_k = np.empty(3 * size, np.uint8)
        self.across_cell = np.empty(4 * rim, np.int32)
        self.across_k = np.empty(4 * rim, np.uint8)
        self.flow = np.empty(size + 1, np.int64)
        self.low = np.empty(size + 1, dtype)
        self._zt = np.empty((rows + 2) * (columns + 2), dtype)
        self._way = np.empty(size, np.uint8)
        self._byte = np.empty(size, np.uint8)

    def views(self, rows: int, columns: int) -> tuple[NDArray[Any], NDArray[np.uint8], NDArray[np.uint8]]:
        """Heights with halo, ways and a byte a cell, for a tile of this size; sets ``step`` as well."""
        self.step[:8] = ROW_STEP * columns + COLUMN_STEP
        zt = self._zt[: (rows + 2) * (columns + 2)].reshape(rows + 2, columns + 2)
        size = rows * columns
        return zt, self._way[:size].reshape(rows, columns), self._byte[:size].reshape(rows, columns)


def tile_windows(shape: tuple[int, int], tile: int) -> list[Window]:
    """Windows of the tiles that cover a raster, row by row."""
    whole = range(0, shape[0], tile), range(0, shape[1], tile)
    return [Window(r, c, tile, tile).clipped(shape) for r in whole[0] for c in whole[1]]
