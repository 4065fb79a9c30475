"""What the ground of each lot is like: areas, mean slope, the way it sheds, how much of it was assessed."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.area import Block
from screening.grid import NODATA, WALL
from screening.siting.burning import burn
from screening.siting.ground_mask import GroundMask
from screening.siting.kernels.lot_sums import sum_cells, sum_open
from screening.siting.lot_cells import lot_positions

__all__ = ["CLEAR_SHARE", "CLEAR_SLOPE", "flow_direction_deg", "lot_ground"]

CLEAR_SHARE: Final = 0.5
"""A lot sheds one way when its mean slope vector is at least this share of its mean steepness."""

CLEAR_SLOPE: Final = 0.002
"""And at least this steep: flatter ground sheds by the errors of its elevation. [m/m]"""


def flow_direction_deg(
    dz_dx: NDArray[np.float64], dz_dy: NDArray[np.float64], steepness: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Mean downslope direction, degrees clockwise from north, 0 to 360; NaN when there is none clear.

    Parameters
    ----------
    dz_dx, dz_dy
        Means of the slope to the east and to the north. [m/m]
    steepness
        Mean of the slope's size. [m/m]
    """
    size = np.hypot(dz_dx, dz_dy)
    clear = (size >= CLEAR_SLOPE) & (size >= CLEAR_SHARE * steepness)
    return np.where(clear, np.degrees(np.arctan2(-dz_dx, -dz_dy)) % 360.0, np.nan)


def lot_ground(block: Block, mask: GroundMask) -> pd.DataFrame:
    """Measure each lot's ground.

    Returns
    -------
    pandas.DataFrame
        One row a lot in the block's order: ``lot_id``, ``lot_area_m2``, ``paved_area_m2`` (missing when paving was
        not given), ``open_ground_m2``, ``slope_lot_pct``, ``flow_direction_deg``, ``assessed_share``.
    """
    gradient = tuple(np.asarray(block.rasters[name], dtype=np.float64) for name in ("dz_dx", "dz_dy"))
    count, slopes = _cell_sums(block, *gradient)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = slopes[:, :3] / slopes[:, 3:]
    total, paved = _mask_sums(block, mask, *gradient)
    cell_m2 = -mask.transform.a * mask.transform.e
    with np.errstate(invalid="ignore", divide="ignore"):
        slope = 100.0 * total[:, 1] / total[:, 2]
    table = pd.DataFrame({"lot_id": block.lots["lot_id"].to_numpy(dtype=object)})
    table["lot_area_m2"] = shapely.area(block.lots.geometry.to_numpy())
    table["paved_area_m2"] = total[:, 3] * cell_m2 if paved else np.nan
    table["open_ground_m2"] = total[:, 0] * cell_m2
    table["slope_lot_pct"] = slope
    table["flow_direction_deg"] = flow_direction_deg(mean[:, 0], mean[:, 1], mean[:, 2])
    table["assessed_share"] = _assessed(block, count)
    return table


def _cell_sums(
    block: Block, dz_dx: NDArray[np.float64], dz_dy: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    lots = len(block.lots)
    count, total = np.zeros((lots, 2), dtype=np.int64), np.zeros((lots, 4))
    known = (block.rasters["state"] != NODATA) & np.isfinite(block.rasters["heights_m"])
    ground = known & (block.rasters["state"] != WALL)
    sum_cells(lot_positions(block), known, ground, dz_dx, dz_dy, count, total)
    return count, total


def _mask_sums(
    block: Block, mask: GroundMask, dz_dx: NDArray[np.float64], dz_dy: NDArray[np.float64]
) -> tuple[NDArray[np.float64], bool]:
    total = np.zeros((len(block.lots), 4))
    given = "paved" in block.layers
    paved = mask.bits  # read for nothing when paving was not given
    if given:
        paved, roofed = np.zeros(mask.bits.shape, dtype=np.uint32), np.zeros(mask.bits.shape, dtype=np.uint32)
        burn(block.layers["paved"].geometry.to_numpy(), 1, mask.transform, paved)
        burn(block.layers["roofs"].geometry.to_numpy(), 1, mask.transform, roofed)
        paved[roofed > 0] = 0  # rain on a roof is not rain on the paving under it
    fold = round(block.cell_x_m / mask.transform.a)
    steepness = np.empty(dz_dx.shape[1])
    sum_open(mask.lot, mask.bits, int(mask.closed_bits()), fold, dz_dx, dz_dy, paved, steepness, total)
    return total, given


def _assessed(block: Block, count: NDArray[np.int64]) -> NDArray[np.float64]:
    """Share of each lot with a height; ground outside the raster has none."""
    area = shapely.area(block.lots.geometry.to_numpy())
    with np.errstate(invalid="ignore", divide="ignore"):
        by_cells = count[:, 1] / count[:, 0]
        by_area = count[:, 1] * block.cell_x_m * block.cell_y_m / area
    rows, columns = block.shape
    west, north = block.transform.c, block.transform.f
    window = (west, north - rows * block.cell_y_m, west + columns * block.cell_x_m, north)
    bounds = shapely.bounds(block.lots.geometry.to_numpy())
    inside: Any = (bounds[:, :2] >= np.array(window[:2])).all(axis=1) & (bounds[:, 2:] <= np.array(window[2:])).all(
        axis=1
    )
    share = np.where(inside & (count[:, 0] > 0), by_cells, np.minimum(np.nan_to_num(by_area), 1.0))
    return np.asarray(share, dtype=np.float64)
