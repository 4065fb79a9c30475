"""Routing of a raster larger than memory: read strip by strip, written tile by tile."""

from __future__ import annotations

import threading
from collections.abc import Callable, Container
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.errors import BadInput, Fault
from screening.sources import RasterSink, Window
from screening.terrain.finish import HollowParts, Layers, finish_tile
from screening.terrain.graph import Solution, solve
from screening.terrain.grid_sources import GridSource, WithOutlets
from screening.terrain.hollows import Hollows, KeepHollows, merge_hollows
from screening.terrain.kernels.hollows import renumber
from screening.terrain.strips import strips
from screening.terrain.survey import join_tile, survey_tile
from screening.terrain.threads import Crew, crew
from screening.terrain.tiles import Heights, Survey, Workspace, tile_windows

__all__ = ["RoutingSinks", "TiledRouting", "route_tiles", "tile_layers"]


@dataclass(frozen=True)
class RoutingSinks:
    """Where to write each layer of a routing; None where it is not wanted. See `Routing` for the layers.

    ``filled``, ``conditioned`` and ``hollow_depth`` take the dtype of the heights, ``direction`` uint8,
    ``accumulation`` int64, ``hollow_id`` int32. A sink is written to by one thread at a time.
    """

    filled: RasterSink | None = None
    direction: RasterSink | None = None
    accumulation: RasterSink | None = None
    conditioned: RasterSink | None = None
    hollow_depth: RasterSink | None = None
    hollow_id: RasterSink | None = None


@dataclass(frozen=True, eq=False)
class TiledRouting:
    """What a routing in tiles gives beside its layers.

    Parameters
    ----------
    hollows
        The table of natural hollows; None when it was not asked for.
    kept
        Which of them were kept as real.
    """

    hollows: Hollows | None
    kept: NDArray[np.bool_]


def route_tiles(
    source: GridSource,
    sinks: RoutingSinks,
    *,
    keep: KeepHollows | None = None,
    hollows: bool = False,
    tile: int = 512,
    threads: int = 2,
) -> TiledRouting:
    """Route water over a raster of any size; the layers are the same, bit for bit, as those of `route`.

    Memory is bounded by two strips of the raster as high as a tile, some buffers a thread, and the graph of what
    crosses tile edges (about 30 bytes for each cell on one); with ``hollows`` also by the table of hollows (about 80
    bytes each). The raster is read twice, and once more for ``hollow_id``.

    Parameters
    ----------
    source
        Heights and cell states.
    sinks
        Where to write the layers.
    keep
        Hollows that are real; none when None.
    hollows
        Whether to give the table of hollows.
    tile
        Side of the tiles; a multiple of the side of the files' own blocks reads and writes fastest. [cells]
    threads
        How many threads share the tiles.

    Raises
    ------
    BadInput
        When no cell of the raster is ground.
    """
    if tile < 1 or threads < 1:
        raise ValueError(f"tile and threads must be at least 1, got {tile} and {threads}")

    def go(source: GridSource, sinks: RoutingSinks, hollows: bool) -> Hollows | None:
        return _TiledRun.over(source, tile, threads).go(sinks, hollows)

    return keep_real(go, source, sinks, keep, hollows)


def keep_real(
    go: Callable[[GridSource, RoutingSinks, bool], Hollows | None],
    source: GridSource,
    sinks: RoutingSinks,
    keep: KeepHollows | None,
    hollows: bool,
) -> TiledRouting:
    """Route with ``go``; where hollows are kept, first for the natural hollows and then with outlets in those kept."""
    if keep is None:
        table = go(source, sinks, hollows)
        return TiledRouting(table, np.zeros(0 if table is None else len(table), np.bool_))
    table = go(source, RoutingSinks(hollow_depth=sinks.hollow_depth, hollow_id=sinks.hollow_id), True)
    kept = np.zeros(0, np.bool_)
    if table is not None:
        grid = source.read(Window(0, 0, 1, 1))
        kept = keep.choose(table, grid.cell_area_m2, grid.height_factor)
        source = WithOutlets(source, np.sort(table.lowest_cell[kept])) if kept.any() else source
    go(source, RoutingSinks(sinks.filled, sinks.direction, sinks.accumulation, sinks.conditioned), False)
    return TiledRouting(table if hollows else None, kept)


def tile_layers(wanted: Container[str], window: Window, dtype: np.dtype[Any], hollows: bool) -> Layers:
    """Arrays for the layers of one tile; ``wanted`` are names of the layers to be written."""
    shape = window.rows, window.columns
    return Layers(
        np.empty(shape, dtype),
        np.empty(shape, np.uint8),
        np.empty(shape, np.int64),
        np.empty(shape, dtype) if "conditioned" in wanted else None,
        np.empty(shape, np.int32) if hollows else None,
        0,
        0,
    )


@dataclass(eq=False)
class _TiledRun:
    """One routing in tiles."""

    source: GridSource
    tile: int
    threads: int
    windows: list[Window]
    dtype: np.dtype[Any]
    cell_m: tuple[float, float]

    @classmethod
    def over(cls, source: GridSource, tile: int, threads: int) -> _TiledRun:
        """Look at the source's first cell for its dtype and cell size."""
        first = source.read(Window(0, 0, 1, 1))
        windows = tile_windows(source.shape, tile)
        return cls(source, tile, threads, windows, first.values.dtype, (first.cell_x_m, first.cell_y_m))

    def _workspace(self) -> Workspace:
        side = min(self.tile, self.source.shape[0]), min(self.tile, self.source.shape[1])
        return Workspace(side, self.cell_m, self.dtype)

    def _each(self, hands: Crew[Workspace], visit: Callable[[Workspace, int, Heights], Any]) -> list[Any]:
        """Call ``visit(workspace, number, around)`` for every tile."""
        found: list[Any] = []
        for strip in strips(self.source, self.tile, hands, self.dtype):
            done = len(found)
            count = sum(strip.first <= window.row < strip.first + strip.rows for window in self.windows)

            def task(work: Workspace, n: int, strip: Any = strip, done: int = done) -> Any:
                return visit(work, done + n, strip.around(self.windows[done + n]))

            found += hands.map(task, count)
        return found

    def go(self, sinks: RoutingSinks, hollows: bool) -> Hollows | None:
        """Survey all tiles, solve the graph, finish all tiles."""
        columns = self.source.shape[1]
        wanted = hollows or sinks.hollow_id is not None
        with crew(self.threads, self._workspace) as hands:

            def survey(work: Workspace, number: int, around: Heights) -> tuple[Survey, int, bool]:
                found, basins = survey_tile(work, around, self.windows[number], columns)
                return found, basins.sink.size - 1, bool(found.ground)

            visits = self._each(hands, survey)
            if not any(ground for _, _, ground in visits):
                raise BadInput([Fault("The elevation has no valid cell", "Check its extent and its nodata value")])
            base = np.concatenate([[0], np.cumsum([count for _, count, _ in visits])])
            solution = solve([found for found, _, _ in visits], self.source.shape, self.tile)
            del visits
            parts = self._each(hands, _Finisher(self, sinks, solution, base, wanted))
            if not wanted:
                return None
            table, numbers, final = merge_hollows(parts, solution.level.size)
            if sinks.hollow_id is not None:
                self._each(hands, _Numberer(self, sinks.hollow_id, solution, base, numbers, final))
        return table


class _Finisher:
    """Second visit to the tiles of a run: finish each and write its layers."""

    def __init__(
        self, run: _TiledRun, sinks: RoutingSinks, solution: Solution, base: NDArray[np.int64], hollows: bool
    ) -> None:
        self.run, self.sinks, self.solution, self.base, self.hollows = run, sinks, solution, base, hollows
        names = [field.name for field in fields(RoutingSinks) if getattr(sinks, field.name) is not None]
        self.wanted = [name for name in names if name != "hollow_id"]
        self.locks = {name: threading.Lock() for name in self.wanted}

    def __call__(self, work: Workspace, number: int, around: Heights) -> HollowParts | None:
        window, columns = self.run.windows[number], self.run.source.shape[1]
        basins = join_tile(work, around, window).basins
        layers = tile_layers(self.wanted, window, self.run.dtype, self.hollows)
        orders = self.solution.orders(number)
        parts = finish_tile(work, around, window, basins, orders, layers, int(self.base[number]), columns)
        for name, lock in self.locks.items():
            values = layers.depth(around, window) if name == "hollow_depth" else getattr(layers, name)
            with lock:
                getattr(self.sinks, name).write(window, values)
        return parts


class _Numberer:
    """Third visit to the tiles of a run: write the final numbers of the hollows."""

    def __init__(
        self,
        run: _TiledRun,
        sink: RasterSink,
        solution: Solution,
        base: NDArray[np.int64],
        numbers: NDArray[np.int64],
        final: NDArray[np.int32],
    ) -> None:
        self.run, self.sink, self.solution, self.base = run, sink, solution, base
        self.numbers, self.final = numbers, final
        self.lock = threading.Lock()

    def __call__(self, work: Workspace, number: int, around: Heights) -> None:
        window, columns = self.run.windows[number], self.run.source.shape[1]
        basins = join_tile(work, around, window).basins
        layers = tile_layers((), window, self.run.dtype, True)
        finish_tile(work, around, window, basins, self.solution.orders(number), layers, 0, columns)
        base = int(self.base[number])
        first, last = np.searchsorted(self.numbers, (base + 1, base + basins.sink.size))
        final = np.zeros(basins.sink.size, np.int32)
        final[self.numbers[first:last] - base] = self.final[first:last]
        if layers.hollow_id is not None:
            renumber(layers.hollow_id, final, 0, window.rows)
            with self.lock:
                self.sink.write(window, layers.hollow_id)
