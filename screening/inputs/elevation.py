"""Read the elevation into a ``Grid`` in the working CRS."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS

from screening.grid import NODATA, VALID, Grid
from screening.inputs.findings import Findings
from screening.inputs.raster_table import RasterTable, WholeRaster, read_raster_table
from screening.inputs.resolution import tell_resolution
from screening.inputs.warp import covering_grid, target_cell_m, warp_heights
from screening.inputs.working_crs import (
    SCALE_TOLERANCE,
    areal_scale,
    centre_degrees,
    horizontal_crs,
    linear_unit_m,
    local_crs,
    metric_crs,
)

__all__ = ["Heights", "grid_of", "read_heights", "typical_step_pct"]

_TOLD_SCALE: Final = 1e-4
"""Departure of the areal scale from 1 from which it is reported."""
_TOLD_STEP_PCT: Final = 60.0
"""Median step between neighbouring cells [%] from which the vertical unit is doubted."""
_LOOKED_AT_ROWS: Final = 1000
"""Rows of cells that the median step is taken along, at least, where there are as many."""


@dataclass(frozen=True, eq=False)
class Heights:
    """Heights in the working CRS.

    Parameters
    ----------
    grid
        The heights.
    raster_crs
        The raster's own CRS.
    output_crs
        CRS that results go back to: the raster's own horizontal one, the working one after a warp.
    unit_m
        Metres in one unit of ``output_crs`` [m].
    warped
        Whether cells were resampled.
    vertical_source
        Where the vertical unit was found: ``area file``, ``CRS``, ``band`` or ``assumed``.
    files
        Every file that was opened.
    """

    grid: Grid
    raster_crs: CRS
    output_crs: CRS
    unit_m: float
    warped: bool
    vertical_source: str
    scale: float
    files: tuple[str, ...]


def read_heights(table: RasterTable, findings: Findings) -> Heights | None:
    """Read the elevation into the working CRS.

    Parameters
    ----------
    table
        What the area file says of it.
    findings
        Where faults and notes go.

    Returns
    -------
    Heights or None
        None when a fault stands in the way.
    """
    whole = read_raster_table(table, findings)
    if whole is None:
        return None
    heights = _into_working(whole, table.layer, findings)
    tell_resolution(heights.grid, table.layer, findings)
    step = typical_step_pct(heights.grid)
    if step > _TOLD_STEP_PCT:
        told = f"The ground rises or falls by {step:.0f}% in the median: check the unit of the heights."
        findings.note("caution", told, table.layer)
    return heights


def typical_step_pct(grid: Grid) -> float:
    """Median slope between neighbouring cells along rows [%], in a large grid along some; 0 where none are known."""
    rows = grid.values[:: max(1, grid.shape[0] // _LOOKED_AT_ROWS)]
    steps = np.abs(np.diff(rows * rows.dtype.type(grid.height_factor), axis=1)) / grid.cell_x_m
    known = steps[np.isfinite(steps)]
    return 100.0 * float(np.median(known)) if known.size else 0.0


def _into_working(whole: WholeRaster, layer: str, findings: Findings) -> Heights:
    """The raster in the working CRS, warped where needed."""
    raster, horizontal = whole.raster, horizontal_crs(whole.crs)
    shape = raster.values.shape[0], raster.values.shape[1]
    longitude, latitude = centre_degrees(horizontal, *(raster.transform @ (shape[1] / 2, shape[0] / 2)))
    unit = linear_unit_m(horizontal)
    scale = areal_scale(horizontal, longitude, latitude) if unit is not None else float("nan")
    if unit is None or abs(scale - 1) > SCALE_TOLERANCE:
        working, unit_m, output = local_crs(horizontal, longitude, latitude), 1.0, None
        why = "is in degrees" if unit is None else f"has an areal scale of {scale:.4f} here"
    else:
        working, unit_m, output = metric_crs(horizontal), unit, horizontal
        why = "is rotated" if raster.transform.b or raster.transform.d else ""
        if abs(scale - 1) > _TOLD_SCALE:
            told = f"Areas in {working.name} are {100 * (scale - 1):+.2f}% off here; accepted."
            findings.note("assumption", told, layer)
    values, transform = raster.values, Affine.scale(unit_m) @ raster.transform
    if why:
        cell = target_cell_m(shape, raster.transform, horizontal, working)
        new_shape, transform = covering_grid(shape, raster.transform, horizontal, working, cell)
        values = warp_heights(values, raster.transform, horizontal, shape=new_shape, onto=transform, target=working)
        told = f"The raster {why}: it was warped bilinearly to {working.name}, cells of {cell:.2f} m."
        findings.note("assumption", told, layer)
    grid = grid_of(values, transform, whole.factor, working)
    return Heights(grid, whole.crs, output or working, unit_m, bool(why), whole.factor_from, scale, raster.files)


def grid_of(values: NDArray[Any], transform: Affine, factor: float, crs: CRS) -> Grid:
    """A grid of heights that are NaN where missing."""
    state = np.where(np.isnan(values), np.uint8(NODATA), np.uint8(VALID))
    return Grid(values, transform, state, factor, crs)
