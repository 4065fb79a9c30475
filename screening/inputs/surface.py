"""Read the surface raster onto the cells of the elevation."""

from __future__ import annotations

from typing import Final

import numpy as np
from affine import Affine

from screening.grid import Grid
from screening.inputs.elevation import grid_of
from screening.inputs.findings import Findings
from screening.inputs.raster_table import RasterTable, WholeRaster, read_raster_table
from screening.inputs.warp import pasted, warp_heights
from screening.inputs.working_crs import horizontal_crs, linear_unit_m, metric_crs

__all__ = ["read_surface"]

_LOW_M: Final = -2.0
_HIGH_M: Final = 60.0
"""Median height of a surface over the ground [m] that is plausible lies between these."""


def read_surface(table: RasterTable, grid: Grid, findings: Findings) -> tuple[Grid, tuple[str, ...]] | None:
    """Read the surface raster onto the cells of the elevation.

    Parameters
    ----------
    table
        What the area file says of it.
    grid
        The elevation.
    findings
        Where faults and notes go.

    Returns
    -------
    tuple or None
        The surface, in its own vertical unit, and the files opened; None when a fault stands in the way.
    """
    whole = read_raster_table(table, findings)
    if whole is None:
        return None
    surface = _onto_grid(whole, grid, findings)
    return (surface, whole.raster.files) if surface is not None else None


def _onto_grid(whole: WholeRaster, grid: Grid, findings: Findings) -> Grid | None:
    """A surface raster on the cells of the elevation."""
    raster = whole.raster
    horizontal, target = horizontal_crs(whole.crs), grid.crs
    if target is None:
        raise ValueError("the elevation's grid has no CRS")
    unit = linear_unit_m(horizontal)
    values = None
    if unit is not None and metric_crs(horizontal) == target:
        values = pasted(raster.values, Affine.scale(unit) @ raster.transform, shape=grid.shape, onto=grid.transform)
    if values is None:
        values = warp_heights(
            raster.values, raster.transform, horizontal, shape=grid.shape, onto=grid.transform, target=target
        )
        told = "The surface raster was warped bilinearly onto the cells of the elevation."
        findings.note("assumption", told, "surface")
    surface = grid_of(values, grid.transform, whole.factor, target)
    both = surface.valid & grid.valid
    if not both.any():
        findings.fault(
            "The surface raster does not lie on the elevation",
            "Check its CRS and extent",
            file=raster.name,
            layer="surface",
        )
        return None
    height_m = float(np.median(surface.heights_m()[both] - grid.heights_m()[both]))
    if not _LOW_M <= height_m <= _HIGH_M:
        findings.note(
            "caution",
            f"The surface lies {height_m:.1f} m above the ground in the median: check the vertical units.",
            "surface",
        )
    return surface
