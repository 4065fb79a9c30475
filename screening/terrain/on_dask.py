"""Routing in tiles on the workers of a Dask cluster.

Every task may run twice, or on two workers at once: it reads its tile from the source, and writes its layers to a
file of its own that takes its final name only when whole. One process, the caller's, solves the graph between the
two visits and puts the layers together at the end.
"""

from __future__ import annotations

import os
import uuid
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.errors import BadInput, Fault
from screening.sources import Window
from screening.terrain.finish import HollowParts, finish_tile
from screening.terrain.graph import solve
from screening.terrain.grid_sources import GridSource
from screening.terrain.hollows import Hollows, KeepHollows, merge_hollows
from screening.terrain.in_tiles import RoutingSinks, TiledRouting, keep_real, tile_layers
from screening.terrain.kernels.hollows import renumber
from screening.terrain.strips import HALO
from screening.terrain.survey import join_tile, survey_tile
from screening.terrain.tiles import Heights, Orders, Survey, Workspace, tile_windows

__all__ = ["route_on_dask"]


def route_on_dask(
    client: Any,
    source: GridSource,
    sinks: RoutingSinks,
    folder: Path,
    *,
    keep: KeepHollows | None = None,
    hollows: bool = False,
    tile: int = 2048,
) -> TiledRouting:
    """As `route_tiles`, with the tiles worked on by Dask; the layers are the same, bit for bit.

    Parameters
    ----------
    client
        A ``distributed.Client``.
    source
        Heights and cell states; the workers must be able to read it, so best from files: it is sent with each task.
    sinks
        Where to write the layers; written to by this process only.
    folder
        Where the workers leave their tiles, on a disk that all of them and this process share; one for each run.
    keep, hollows
        As for `route_tiles`.
    tile
        Side of the tiles. [cells]
    """
    if tile < 1:
        raise ValueError(f"tile must be at least 1, got {tile}")
    folder.mkdir(parents=True, exist_ok=True)

    def go(source: GridSource, sinks: RoutingSinks, hollows: bool) -> Hollows | None:
        return _route_once(client, source, sinks, folder, hollows or sinks.hollow_id is not None, tile)

    return keep_real(go, source, sinks, keep, hollows)


def _route_once(
    client: Any, source: GridSource, sinks: RoutingSinks, folder: Path, hollows: bool, tile: int
) -> Hollows | None:
    """Route with every hollow opened."""
    windows = tile_windows(source.shape, tile)
    wanted = tuple(field.name for field in fields(RoutingSinks) if getattr(sinks, field.name) is not None)
    # pure=False: tasks are told apart by their keys, not by hashing what they read
    visits = client.gather(client.map(lambda window: _survey(source, window), windows, pure=False))
    if not any(survey.ground for survey, _ in visits):
        raise BadInput([Fault("The elevation has no valid cell", "Check its extent and its nodata value")])
    base = np.concatenate([[0], np.cumsum([count for _, count in visits])])
    solution = solve([survey for survey, _ in visits], source.shape, tile)
    tasks = [
        _Task(
            source, window, solution.orders(n), int(base[n]), wanted, hollows, folder / f"{window.row}_{window.column}"
        )
        for n, window in enumerate(windows)
    ]
    # one by one: what the graph tells all tiles together can be large
    parts: list[HollowParts | None] = client.gather([client.submit(_Task.run, task, pure=False) for task in tasks])
    table, numbers, final = None, np.zeros(0, np.int64), np.zeros(0, np.int32)
    if hollows:
        table, numbers, final = merge_hollows([part for part in parts if part is not None], solution.level.size)
    for n, task in enumerate(tasks):
        first, last = np.searchsorted(numbers, (base[n] + 1, base[n + 1] + 1))
        lookup = np.zeros(int(base[n + 1] - base[n]) + 1, np.int32)
        lookup[numbers[first:last] - base[n]] = final[first:last]
        task.assemble(sinks, lookup)
    return table


def _around(source: GridSource, window: Window) -> tuple[Heights, Workspace]:
    """Read a tile with what lies around it, and make a workspace for it."""
    wide = Window(window.row - HALO, window.column - HALO, window.rows + 2 * HALO, window.columns + 2 * HALO).clipped(
        source.shape
    )
    grid = source.read(wide)
    z, state = np.ascontiguousarray(grid.values), np.ascontiguousarray(grid.state)
    work = Workspace((window.rows, window.columns), (grid.cell_x_m, grid.cell_y_m), z.dtype)
    return Heights(z, state, window.row - wide.row, window.column - wide.column), work


def _survey(source: GridSource, window: Window) -> tuple[Survey, int]:
    """First visit to a tile."""
    around, work = _around(source, window)
    survey, basins = survey_tile(work, around, window, source.shape[1])
    return survey, basins.sink.size - 1


@dataclass(frozen=True, eq=False)
class _Task:
    """Second visit to a tile, and what it leaves on disk."""

    source: GridSource
    window: Window
    orders: Orders
    base: int
    wanted: tuple[str, ...]
    hollows: bool
    path: Path

    def run(self) -> HollowParts | None:
        """Finish the tile and write its layers aside, then under their name."""
        around, work = _around(self.source, self.window)
        columns = self.source.shape[1]
        basins = join_tile(work, around, self.window).basins
        layers = tile_layers(self.wanted, self.window, around.z.dtype, self.hollows)
        # hollows are numbered within the tile here, so that the file does not depend on other tiles
        parts = finish_tile(work, around, self.window, basins, self.orders, layers, self.base, columns)
        found: dict[str, NDArray[Any]] = {
            name: layers.depth(around, self.window) if name == "hollow_depth" else getattr(layers, name)
            for name in self.wanted
        }
        if layers.hollow_id is not None and "hollow_id" in found:
            found["hollow_id"] = np.where(layers.hollow_id > 0, layers.hollow_id - self.base, 0).astype(np.int32)
        aside = self.path.with_name(f"{self.path.name}.{uuid.uuid4().hex}.part")
        with aside.open("wb") as file:
            np.savez(file, allow_pickle=False, **found)
        os.replace(aside, self.path.with_name(f"{self.path.name}.npz"))
        return parts

    def assemble(self, sinks: RoutingSinks, final: NDArray[np.int32]) -> None:
        """Write the layers on disk to the sinks and remove the file."""
        path = self.path.with_name(f"{self.path.name}.npz")
        with np.load(path) as layers:
            for name in self.wanted:
                values = layers[name]
                if name == "hollow_id":
                    renumber(values, final, 0, values.shape[0])
                getattr(sinks, name).write(self.window, values)
        path.unlink()
