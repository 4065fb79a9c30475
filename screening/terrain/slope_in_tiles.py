"""Slope and aspect of rasters larger than memory: each tile is read with as many cells round it as its windows need."""

from __future__ import annotations

import threading
from typing import Any

from numpy.typing import NDArray

from screening.grid import Grid
from screening.sources import RasterSink, Window
from screening.terrain.grid_sources import GridSource
from screening.terrain.slope import (
    aspect_deg,
    downslope_deg,
    gradient_at_scale,
    half_window_cells,
    slope_pct,
    steepness_pct,
)
from screening.terrain.threads import crew
from screening.terrain.tiles import tile_windows

__all__ = ["slope_tiles"]


def slope_tiles(
    source: GridSource,
    *,
    slope: RasterSink | None = None,
    aspect: RasterSink | None = None,
    scale_m: float | None = None,
    tile: int = 512,
    threads: int = 2,
) -> None:
    """Slope and aspect from raster to raster; the same, bit for bit, as in memory.

    Parameters
    ----------
    source
        Heights; cell states play no part.
    slope, aspect
        Where to write the slope [%] and the direction that the ground faces [deg clockwise from north]; floats, NaN
        where there is none.
    scale_m
        Width of the window of a least-squares plane, as for `gradient_at_scale`; Horn's window of three by three cells,
        as for `slope_pct` and `aspect_deg`, when None. [m]
    tile
        Side of the tiles. [cells]
    threads
        How many threads share the tiles.
    """
    if tile < 1 or threads < 1:
        raise ValueError(f"tile and threads must be at least 1, got {tile} and {threads}")
    first = source.read(Window(0, 0, 1, 1))
    halo_rows = 1 if scale_m is None else half_window_cells(scale_m, first.cell_y_m)
    halo_columns = 1 if scale_m is None else half_window_cells(scale_m, first.cell_x_m)
    windows, lock = tile_windows(source.shape, tile), threading.Lock()

    def visit(_: None, number: int) -> None:
        window = windows[number]
        wide = Window(
            window.row - halo_rows,
            window.column - halo_columns,
            window.rows + 2 * halo_rows,
            window.columns + 2 * halo_columns,
        ).clipped(source.shape)
        found = _steepness(source.read(wide), scale_m, slope is not None, aspect is not None)
        own = Window(window.row - wide.row, window.column - wide.column, window.rows, window.columns).slices
        for sink, values in zip((slope, aspect), found, strict=True):
            if sink is not None and values is not None:
                with lock:
                    sink.write(window, values[own])

    with crew(threads, lambda: None) as hands:
        hands.map(visit, len(windows))


def _steepness(
    grid: Grid, scale_m: float | None, slope: bool, aspect: bool
) -> tuple[NDArray[Any] | None, NDArray[Any] | None]:
    """Slope and aspect of one tile with its surroundings, where wanted."""
    if scale_m is None:
        return slope_pct(grid, threads=1) if slope else None, aspect_deg(grid) if aspect else None
    east, north = gradient_at_scale(grid, scale_m, threads=1)
    return steepness_pct(east, north) if slope else None, downslope_deg(east, north) if aspect else None
