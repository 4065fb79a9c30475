"""Where the water of every cell goes, for rasters larger than memory."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from typing import Any

import numpy as np
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS

from screening.sources import RasterSink, RasterSource, Window
from screening.terrain.codes import COLUMN_STEP, ROW_STEP, linear_steps
from screening.terrain.kernels.fate import mark_exits, resolve_rims, trace_fates
from screening.terrain.kernels.graph import far_ends
from screening.terrain.threads import crew
from screening.terrain.tiles import tile_windows

__all__ = ["CellLabels", "fate_tiles"]


@dataclass(frozen=True, eq=False)
class CellLabels:
    """A raster of labels that is 0 but in a few cells.

    Parameters
    ----------
    shape, transform
        The raster's.
    cells
        Linear indices of the cells with a label.
    labels
        Their labels, int32; of two in one cell the first counts.
    """

    shape: tuple[int, int]
    transform: Affine
    cells: NDArray[np.int64]
    labels: NDArray[np.int32]
    crs: CRS | None = None

    @property
    def dtype(self) -> np.dtype[Any]:
        """Type of the labels."""
        return np.dtype(np.int32)

    def read(self, window: Window | None = None) -> NDArray[np.int32]:
        """Labels of a window (the whole when None)."""
        window = window or Window(0, 0, *self.shape)
        r, c = self.cells // self.shape[1] - window.row, self.cells % self.shape[1] - window.column
        inside = np.flatnonzero((r >= 0) & (r < window.rows) & (c >= 0) & (c < window.columns))[::-1]
        found = np.zeros((window.rows, window.columns), np.int32)
        found[r[inside], c[inside]] = self.labels[inside]
        return found


def fate_tiles(
    direction: RasterSource,
    labels: RasterSource,
    *,
    label: RasterSink | None = None,
    end: RasterSink | None = None,
    include_self: bool = False,
    tile: int = 512,
    threads: int = 2,
) -> None:
    """As `fate`, from raster to raster: two visits to each tile, and what crosses tile edges between them.

    Parameters
    ----------
    direction
        D8 codes.
    labels
        Labels, 0 for none, on the same cells.
    label, end
        Where to write the first label met (int32) and the linear index of the cell where the water ends (int64).
    include_self
        Whether a cell's own label counts as met.
    tile
        Side of the tiles. [cells]
    threads
        How many threads share the tiles.
    """
    if labels.shape != direction.shape:
        raise ValueError(f"labels must have the shape of direction {direction.shape}, got {labels.shape}")
    shape, lock = direction.shape, threading.Lock()
    windows = tile_windows(shape, tile)
    with crew(threads, lambda: None) as hands:
        first = hands.map(lambda _, n: _Tile.read(direction, labels, windows[n]).rim(shape[1]), len(windows))
        rim_label, rim_end, rim_exit, rim_way = (np.concatenate(part) for part in zip(*first, strict=True))
        starts = np.concatenate([[0], np.cumsum([part[0].size for part in first])])
        onward = _onward(rim_exit, rim_way, shape, tile, starts)
        if not resolve_rims(onward, rim_label, rim_end, np.empty(onward.size, np.int64)):
            raise ValueError("directions run in a circle")

        def finish(_: None, number: int) -> None:
            window = windows[number]
            part = _Tile.read(direction, labels, window)
            cell = _linear(part.exits, window, shape[1])
            place = _onward(cell, part.ways, shape, tile, starts)
            found_label, found_end = part.finish(rim_label[place], rim_end[place], shape[1], include_self)
            with lock:
                if label is not None:
                    label.write(window, found_label)
                if end is not None:
                    end.write(window, found_end)

        hands.map(finish, len(windows))


def _linear(cells: NDArray[np.int64], window: Window, columns: int) -> NDArray[np.int64]:
    """Linear indices on the raster of cells of a tile."""
    index: NDArray[np.int64] = (window.row + cells // window.columns) * columns + window.column
    return index + cells % window.columns


def _onward(
    cells: NDArray[np.int64], ways: NDArray[np.uint8], shape: tuple[int, int], tile: int, starts: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Places on tile rims that cells lead to; -1 for cell -1."""
    found, nowhere = np.empty(cells.size, np.int64), np.empty(cells.size)
    places = np.arange(starts[-1])
    far_ends(
        np.maximum(cells, 0), np.where(cells < 0, 0, ways).astype(np.uint8), shape[1], shape[0], tile, ROW_STEP,
        COLUMN_STEP, starts, places, np.zeros(places.size), found, nowhere,
    )  # fmt: skip
    return np.where(cells < 0, -1, found)


@dataclass(frozen=True, eq=False)
class _Tile:
    """Directions and labels of one tile, flat, and the cells whose direction leads out of it."""

    window: Window
    direction: NDArray[np.uint8]
    labels: NDArray[np.int32]
    exits: NDArray[np.int64]
    ways: NDArray[np.uint8]
    end: NDArray[np.int64]

    @classmethod
    def read(cls, direction: RasterSource, labels: RasterSource, window: Window) -> _Tile:
        """Read a tile and find its exits."""
        codes = np.ascontiguousarray(direction.read(window), np.uint8).reshape(-1)
        given = np.ascontiguousarray(labels.read(window), np.int32).reshape(-1)
        end = np.full(codes.size, -2, np.int64)
        exits = np.empty(2 * (window.rows + window.columns), np.int64)
        exits = exits[: mark_exits(codes, window.rows, window.columns, end, exits)]
        return cls(window, codes, given, exits, np.log2(codes[exits]).astype(np.uint8), end)

    def _trace(self, beyond: NDArray[np.int32], include_self: bool) -> NDArray[np.int32]:
        """Follow the directions inside the tile; ``beyond`` is the label met from each exit on."""
        label = np.zeros(self.direction.size, np.int32)
        own = self.labels[self.exits]
        label[self.exits] = np.where(own != 0, own, beyond) if include_self else beyond
        trail = np.empty(self.direction.size, np.int64)
        steps = linear_steps(self.window.columns)
        if not trace_fates(self.direction, self.labels, steps, include_self, label, self.end, trail):
            raise ValueError("directions run in a circle")
        return label

    def rim(self, columns: int) -> tuple[NDArray[np.int32], NDArray[np.int64], NDArray[np.int64], NDArray[np.uint8]]:
        """For each cell of the rim the label met in the tile, its end there or the exit and its way."""
        label = self._trace(np.zeros(self.exits.size, np.int32), True)
        rows, wide = self.window.rows, self.window.columns
        place = np.arange(rows * wide).reshape(rows, wide)
        cells = np.concatenate([place[0], place[-1], place[:, 0], place[:, -1]])
        end = self.end[cells]
        leaving = end <= -10
        number = np.where(leaving, -10 - end, 0)
        exits, ways = np.append(self.exits, 0), np.append(self.ways, np.uint8(0))
        exit_cell = np.where(leaving, _linear(exits[number], self.window, columns), -1)
        ends = np.where(end >= 0, _linear(end, self.window, columns), -1)
        return label[cells], ends, exit_cell, ways[number]

    def finish(
        self, beyond: NDArray[np.int32], ends: NDArray[np.int64], columns: int, include_self: bool
    ) -> tuple[NDArray[np.int32], NDArray[np.int64]]:
        """Labels and ends of all cells, given the label and the end beyond each exit."""
        label = self._trace(beyond, include_self)
        found = np.where(self.end >= 0, _linear(self.end, self.window, columns), -1)
        leaving = self.end <= -10
        found[leaving] = ends[-10 - self.end[leaving]]
        shape = self.window.rows, self.window.columns
        return label.reshape(shape), found.reshape(shape)
