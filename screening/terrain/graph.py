"""The graph of what crosses tile edges: solved once, it tells every tile how its parts drain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screening.errors import StageFailed
from screening.sources import Window
from screening.terrain.codes import COLUMN_STEP, ROW_STEP
from screening.terrain.kernels.contract import radix_order, sortable
from screening.terrain.kernels.graph import far_ends, follow_nodes, least_tree, root_tree
from screening.terrain.tiles import Orders, Survey

__all__ = ["Solution", "solve"]


@dataclass(frozen=True, eq=False)
class Solution:
    """The tree over the nodes of all tiles; node 0 is outside. One row a node, or one an inflow, in tile order."""

    shape: tuple[int, int]
    tile: int
    windows: tuple[Window, ...]
    first_node: NDArray[np.int64]
    cell: NDArray[np.int64]
    k: NDArray[np.uint8]
    top: NDArray[np.float64]
    crosses: NDArray[np.bool_]
    level: NDArray[np.float64]
    enclosed: NDArray[np.bool_]
    shares: NDArray[np.bool_]
    mass: NDArray[np.int64]
    low: NDArray[np.float64]
    first_inflow: NDArray[np.int64]
    inflow: NDArray[np.int64]

    def orders(self, number: int) -> Orders:
        """What tile ``number`` must know."""
        window = self.windows[number]
        nodes = slice(int(self.first_node[number]), int(self.first_node[number + 1]))
        sources = self.inflow[self.first_inflow[number] : self.first_inflow[number + 1]]
        columns = self.shape[1]

        def inside(cells: NDArray[np.int64]) -> NDArray[np.int32]:
            r, c = cells // columns - window.row, cells % columns - window.column
            place: NDArray[np.int64] = r * window.columns + c
            return place.astype(np.int32)

        step: NDArray[np.int64] = (ROW_STEP * columns + COLUMN_STEP)[self.k[sources]]
        return Orders(
            nodes.start, inside(self.cell[nodes]), self.k[nodes], self.top[nodes], self.crosses[nodes],
            self.level[nodes], self.enclosed[nodes], self.shares[nodes], inside(self.cell[sources] + step),
            self.mass[sources], self.low[sources], np.where(self.shares[sources], sources, -1),
        )  # fmt: skip


def solve(surveys: Sequence[Survey], shape: tuple[int, int], tile: int) -> Solution:
    """Find the tree over the nodes of all tiles and what follows from it.

    Parameters
    ----------
    surveys
        One for each tile, row by row.
    shape
        Rows and columns of the raster.
    tile
        Side of the tiles. [cells]
    """
    counts = np.array([survey.mass.size - 1 for survey in surveys], np.int64)
    first_node = np.concatenate([[1], 1 + np.cumsum(counts)])
    edges = _Edges.gather(surveys, first_node, shape, tile)
    order = edges.order()
    nodes = int(first_node[-1])
    chosen = np.empty(nodes, np.int64)
    chosen = chosen[: least_tree(edges.near, edges.far, order, np.arange(nodes), chosen)]
    return _hang(edges.taken(chosen), surveys, first_node, shape, tile)


@dataclass(frozen=True, eq=False)
class _Edges:
    """Edges between nodes of all tiles."""

    certain: NDArray[np.bool_]
    near: NDArray[np.int64]
    far: NDArray[np.int64]
    cell: NDArray[np.int64]
    k: NDArray[np.uint8]
    key: NDArray[np.float64]
    crest: NDArray[np.float64]
    wall: NDArray[np.bool_]

    @classmethod
    def gather(
        cls, surveys: Sequence[Survey], first_node: NDArray[np.int64], shape: tuple[int, int], tile: int
    ) -> _Edges:
        """Bring the edges of all tiles together and look up where those that leave a tile lead."""
        sizes = [survey.near.size for survey in surveys]
        base = np.repeat(first_node[:-1] - 1, sizes)
        near, far = (np.concatenate([getattr(s, name) for s in surveys]).astype(np.int64) for name in ("near", "far"))
        leaving = far < 0
        near, far = np.where(near > 0, near + base, 0), np.where(far > 0, far + base, 0)
        cell, k, key, crest, wall = (
            np.concatenate([getattr(s, name) for s in surveys]) for name in ("cell", "k", "key", "crest", "wall")
        )
        certain = np.concatenate([np.arange(size) < s.certain for s, size in zip(surveys, sizes, strict=True)])
        rims = [s.rim_node.size for s in surveys]
        rim_start = np.concatenate([[0], np.cumsum(rims)])
        rim_node = np.concatenate([s.rim_node for s in surveys]).astype(np.int64)
        rim_node = np.where(rim_node > 0, rim_node + np.repeat(first_node[:-1] - 1, rims), 0)
        rim_crest = np.concatenate([s.rim_crest for s in surveys])
        out = np.flatnonzero(leaving)
        node, far_crest = np.empty(out.size, np.int64), np.empty(out.size)
        far_ends(
            cell[out], k[out], shape[1], shape[0], tile, ROW_STEP, COLUMN_STEP, rim_start, rim_node, rim_crest, node,
            far_crest,
        )  # fmt: skip
        far[out] = node
        crest[out] = np.maximum(crest[out], far_crest)
        return cls(certain, near, far, cell, k, key, crest, wall)

    def order(self) -> NDArray[np.int32]:
        """Order of the edges: the certain ones, then ground before walls, by height, cell and direction."""
        order = np.flatnonzero(~self.certain).astype(np.int32)
        spare = np.empty(order.size, np.uint64)
        radix_order((self.cell * 8 + self.k)[order].view(np.uint64), order, spare, np.empty_like(order))
        bits = (self.key[order] + 0.0).view(np.uint64)
        sortable(bits)
        radix_order(bits, order, spare, np.empty_like(order))
        if self.wall.any():
            order = order[np.argsort(self.wall[order], kind="stable")]
        return np.concatenate([np.flatnonzero(self.certain).astype(np.int32), order])

    def taken(self, chosen: NDArray[np.int64]) -> _Edges:
        """Some of the edges."""
        return _Edges(*(getattr(self, name)[chosen] for name in self.__dataclass_fields__))


def _hang(
    tree: _Edges, surveys: Sequence[Survey], first_node: NDArray[np.int64], shape: tuple[int, int], tile: int
) -> Solution:
    """Hang the tree from node 0 and carry levels down it, cells and lowest heights up it."""
    nodes = int(first_node[-1])
    start = np.cumsum(np.bincount(tree.near, minlength=nodes) + np.bincount(tree.far, minlength=nodes))
    up_edge, queue = np.empty(nodes, np.int64), np.empty(nodes, np.int64)
    if root_tree(tree.near, tree.far, start, np.empty(2 * tree.near.size, np.int64), up_edge, queue) != nodes:
        raise StageFailed("terrain: part of the raster has no way out, which cannot be; please report it")
    mass, low = np.zeros(nodes, np.int64), np.full(nodes, np.inf)
    for number, survey in enumerate(surveys):
        mine = slice(int(first_node[number]), int(first_node[number + 1]))
        mass[mine], low[mine] = survey.mass[1:], survey.low[1:]
    up, level, enclosed = np.zeros(nodes, np.int64), np.full(nodes, -np.inf), np.zeros(nodes, np.bool_)
    follow_nodes(queue, up_edge, tree.near, tree.far, tree.crest, tree.wall, up, level, enclosed, mass, low)

    edge = up_edge[1:]
    forward = tree.near[edge] == np.arange(1, nodes)
    there = tree.cell[edge] + (ROW_STEP * shape[1] + COLUMN_STEP)[tree.k[edge]]
    cell, k, top = np.zeros(nodes, np.int64), np.zeros(nodes, np.uint8), np.zeros(nodes)
    top[1:] = tree.crest[edge]
    cell[1:] = np.where(forward, tree.cell[edge], there)
    k[1:] = np.where(forward, tree.k[edge], (tree.k[edge] + 4) % 8)
    crosses, shares = np.zeros(nodes, np.bool_), np.zeros(nodes, np.bool_)
    from_tile, to_tile = np.zeros(nodes, np.int64), np.zeros(nodes, np.int64)
    from_tile[1:] = _tile_of(cell[1:], shape, tile)
    to_tile[1:] = _tile_of(np.where(forward, there, tree.cell[edge]), shape, tile)
    crosses = from_tile != to_tile
    shares[1:] = np.where(enclosed[1:], ~tree.wall[edge], tree.crest[edge] < level[1:])
    sources = np.flatnonzero(crosses)
    sources = sources[np.argsort(to_tile[sources], kind="stable")]
    first_inflow = np.searchsorted(to_tile[sources], np.arange(len(surveys) + 1))
    windows = tuple(survey.window for survey in surveys)
    return Solution(
        shape, tile, windows, first_node, cell, k, top, crosses, level, enclosed, shares, mass, low, first_inflow,
        sources,
    )  # fmt: skip


def _tile_of(cells: NDArray[np.int64], shape: tuple[int, int], tile: int) -> NDArray[np.int64]:
    across = -(-shape[1] // tile)
    found: NDArray[np.int64] = cells // shape[1] // tile * across + cells % shape[1] // tile
    return found
