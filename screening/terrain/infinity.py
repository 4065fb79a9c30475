"""D-infinity: directions that are not bound to eight, and the area that drains through each cell along them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from screening.grid import OUTLET, VALID
from screening.terrain.codes import COLUMN_STEP, ROW_STEP
from screening.terrain.kernels.infinity import count_sources, infinite_ways, spread_area
from screening.terrain.routing import Drainage

__all__ = ["DInfinity", "d_infinity"]

_PARTS_PER_CELL: Final = 1 << 20


@dataclass(frozen=True, eq=False)
class DInfinity:
    """D-infinity flow over a grid.

    Parameters
    ----------
    angle_rad
        Direction of flow, counter-clockwise from east, 0 up to 2 pi, float64; NaN where water leaves, at nodata and
        at walls off the way out of enclosed ground. [rad]
    slope
        Fall over run along it on the filled surface, float64, heights in metres; 0 on its flats. [m/m]
    area_cells
        Area of ground that drains through a cell, itself counted, float64, in whole 1/1,048,576 of a cell. [cells]
    """

    angle_rad: NDArray[np.float64]
    slope: NDArray[np.float64]
    area_cells: NDArray[np.float64]


def d_infinity(drainage: Drainage) -> DInfinity:
    """Direction and contributing area by D-infinity (Tarboton 1997) on the filled surface of a routing.

    On flats, and where no facet with ground on it falls, water follows the routing's own directions, so that it
    always arrives: filled height and steps left along those directions never both stay.

    Parameters
    ----------
    drainage
        A routing, from `drain` or `route`.

    References
    ----------
    Tarboton, D. G. (1997). A new method for the determination of flow directions and upslope areas in grid digital
    elevation models. Water Resources Research 33(2), 309-319. https://doi.org/10.1029/96WR03137
    """
    grid, shape = drainage.grid, drainage.grid.shape
    ground = (grid.state == VALID) | (grid.state == OUTLET)
    angle, slope, share = np.empty(shape), np.empty(shape), np.empty(shape)
    first, second, feeders = (np.zeros(shape, np.uint8) for _ in range(3))
    dx, dy = grid.cell_x_m / grid.height_factor, grid.cell_y_m / grid.height_factor
    infinite_ways(drainage.filled, ground, drainage.direction, dx, dy, angle, slope, first, second, share)
    count_sources(first, second, share, ROW_STEP, COLUMN_STEP, feeders)
    area = np.where(ground, np.int64(_PARTS_PER_CELL), np.int64(0))
    done = spread_area(first, second, share, ROW_STEP, COLUMN_STEP, feeders, area, np.empty(area.size, np.int64))
    if done != area.size:
        raise ValueError("directions run in a circle: filled surface and direction do not belong together")
    return DInfinity(angle, slope, area / _PARTS_PER_CELL)
