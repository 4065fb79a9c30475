"""Strips of tiles read from a grid source, each row of the raster once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.sources import Window
from screening.terrain.grid_sources import GridSource
from screening.terrain.threads import Crew
from screening.terrain.tiles import Heights, Workspace

__all__ = ["HALO", "Strip", "strips"]

HALO = 2
"""Rows above and below a tile that its work looks at."""


class Strip:
    """One row of tiles (two of the smallest) with two rows of cells above and below."""

    def __init__(self, rows: int, columns: int, dtype: np.dtype[Any]) -> None:
        self.z: NDArray[Any] = np.empty((rows + 2 * HALO, columns), dtype)
        self.state: NDArray[np.uint8] = np.empty((rows + 2 * HALO, columns), np.uint8)
        self.first = 0
        self.rows = 0
        self.above = 0
        self.below = 0

    def around(self, window: Window) -> Heights:
        """Heights and states of a tile of the strip and what lies around it."""
        part = slice(HALO - self.above, HALO + self.rows + self.below)
        return Heights(self.z[part], self.state[part], self.above + window.row - self.first, window.column)


def strips(source: GridSource, tile: int, hands: Crew[Workspace], dtype: np.dtype[Any]) -> Iterator[Strip]:
    """Read the raster strip by strip; two strips are held at a time, and each is good until the next is asked for."""
    rows, columns = source.shape
    high = tile * -(-HALO // tile)
    count = -(-rows // high)
    held = [Strip(min(high, rows), columns, dtype) for _ in range(min(count, 2))]

    def read(number: int) -> Strip:
        strip = held[number % 2]
        strip.first, strip.rows = number * high, min(high, rows - number * high)
        wide = -(-max(columns // 8, tile) // tile) * tile

        def part(_: Workspace, n: int) -> None:
            window = Window(strip.first, n * wide, strip.rows, wide).clipped((rows, columns))
            grid = source.read(window)
            place = slice(HALO, HALO + strip.rows), slice(window.column, window.column + window.columns)
            strip.z[place], strip.state[place] = grid.values, grid.state

        hands.map(part, -(-columns // wide))
        return strip

    strip = read(0)
    strip.above = 0
    for number in range(count):
        strip.below = 0
        below = None
        if number + 1 < count:
            below = read(number + 1)
            strip.below, below.above = min(HALO, below.rows), min(HALO, strip.above + strip.rows)
            for mine, theirs in ((strip.z, below.z), (strip.state, below.state)):
                end = HALO + strip.rows
                mine[end : end + strip.below] = theirs[HALO : HALO + strip.below]
                theirs[HALO - below.above : HALO] = mine[end - below.above : end]
        yield strip
        if below is not None:
            strip = below
