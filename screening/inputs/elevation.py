"""Read the elevation: one raster or many tiles, into a ``Grid`` in the working CRS."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import numpy as np
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS
from pyproj.exceptions import CRSError

from screening.grid import NODATA, VALID, Grid
from screening.inputs.file_paths import shown_path
from screening.inputs.findings import Findings
from screening.inputs.mosaic import mosaic
from screening.inputs.raster_file import RasterFile, north_up, read_raster
from screening.inputs.warp import covering_grid, pasted, target_cell_m, warp_heights
from screening.inputs.working_crs import (
    SCALE_TOLERANCE,
    areal_scale,
    centre_degrees,
    horizontal_crs,
    linear_unit_m,
    local_crs,
    metric_crs,
    vertical_unit_m,
)
from screening.units import US_SURVEY_FOOT_M, length_unit_m

__all__ = ["Heights", "RasterTable", "read_heights", "read_surface"]

_TOLD_SCALE: Final = 1e-4
"""Departure of the areal scale from 1 from which it is reported."""
_ZERO_SHARE: Final = 0.01
"""Share of cells at exactly 0, all others above, from which a caution is given."""
_SURFACE_LOW_M, _SURFACE_HIGH_M = 2.0, 60.0
"""Median height of a surface below and above the ground [m] that is plausible."""


@dataclass(frozen=True)
class RasterTable:
    """What the area file says of one raster.

    Parameters
    ----------
    layer
        ``elevation`` or ``surface``.
    paths
        Files to open, in the order that decides overlaps.
    folder
        Folder of the area file.
    vertical_unit, nodata, band, crs
        As written, None where the file itself must say.
    """

    layer: str
    paths: Sequence[str]
    folder: Path
    vertical_unit: str | None = None
    nodata: float | None = None
    band: int = 1
    crs: str | None = None

    def key(self, name: str) -> str:
        """The key in ``[elevation]`` that a fault should name."""
        return name if self.layer == "elevation" else f"surface_{name}"


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
    found = _read_raster_table(table, findings)
    return _into_working(*found, table, findings) if found else None


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
    found = _read_raster_table(table, findings)
    if found is None:
        return None
    raster, crs, (factor, _) = found
    surface = _onto_grid(raster, crs, factor, grid, findings)
    return (surface, raster.files) if surface is not None else None


def _read_raster_table(table: RasterTable, findings: Findings) -> tuple[RasterFile, CRS, tuple[float, str]] | None:
    """The raster put together from its files, its CRS, its vertical factor and where that was found."""
    tiles = [
        read_raster(
            path,
            shown_path(path, table.folder),
            findings,
            layer=table.layer,
            band=table.band,
            nodata=table.nodata,
            key=table.key("nodata"),
        )
        for path in table.paths
    ]
    usable = [_with_crs(north_up(tile), table, findings) for tile in tiles if tile is not None]
    good = [tile for tile in usable if tile is not None]
    if not good or len(good) < len(tiles):
        return None
    raster = mosaic(good, findings, layer=table.layer)
    if raster is None or raster.crs is None:
        return None
    vertical = _vertical_factor(raster, raster.crs, table, findings)
    if vertical is None:
        return None
    if raster.bands > 1:
        findings.note("caution", f"The raster has {raster.bands} bands; band {table.band} is read.", table.layer)
    _tell_zeros(raster, table, findings)
    return raster, raster.crs, vertical


def _with_crs(raster: RasterFile, table: RasterTable, findings: Findings) -> RasterFile | None:
    """The raster with a CRS: its own, or the area file's."""
    if table.crs is not None:
        try:
            raster = replace(raster, crs=CRS.from_user_input(table.crs))
        except CRSError:
            findings.fault(f"crs = {table.crs!r} is no CRS", 'Write crs = "EPSG:..."', layer=table.layer)
            return None
    if raster.crs is None:
        findings.fault(
            "The raster has no CRS", 'Add crs = "EPSG:..." to [elevation]', file=raster.name, layer=table.layer
        )
        return None
    horizontal = horizontal_crs(raster.crs)
    if not (horizontal.is_projected or horizontal.is_geographic):
        findings.fault(
            f"The raster's CRS ({raster.crs.name}) does not say where on earth it lies",
            'Add crs = "EPSG:..." to [elevation]',
            file=raster.name,
            layer=table.layer,
        )
        return None
    return raster


def _vertical_factor(raster: RasterFile, crs: CRS, table: RasterTable, findings: Findings) -> tuple[float, str] | None:
    """Metres in one unit of the heights, and where that was found."""
    from_crs = vertical_unit_m(crs)
    from_band = length_unit_m(raster.unit) if raster.unit else None
    if table.vertical_unit is not None:
        factor = length_unit_m(table.vertical_unit) or 1.0
        for other, whose in ((from_crs, "CRS"), (from_band, "band")):
            if other is not None and abs(other / factor - 1) > 1e-3:
                findings.note(
                    "caution",
                    f"The area file says heights are in {table.vertical_unit}, the raster's {whose} says "
                    f"{_unit_name(other)}; the area file is followed.",
                    table.layer,
                )
        return factor, "area file"
    if from_crs is not None:
        return from_crs, "CRS"
    if from_band is not None:
        return from_band, "band"
    if linear_unit_m(crs) == 1.0:
        findings.note("assumption", "Heights are taken to be in metres, as the horizontal unit is.", table.layer)
        findings.note(
            "caution",
            "The vertical unit is not stated by the raster: if heights are in feet, every slope and fall here is 3.28 "
            f'times too large. Add {table.key("vertical_unit")} = "m" or "ft" to [elevation].',
            table.layer,
        )
        return 1.0, "assumed"
    findings.fault(
        "The unit of the heights is not known: neither the CRS nor the band says it, and the horizontal unit is "
        f"{horizontal_crs(crs).axis_info[0].unit_name}",
        f'Add {table.key("vertical_unit")} = "ft" (or "us-ft", or "m") to [elevation]',
        file=raster.name,
        layer=table.layer,
    )
    return None


def _unit_name(metres: float) -> str:
    """A unit of length by its size."""
    for size, name in ((1.0, "metres"), (US_SURVEY_FOOT_M, "US survey feet"), (0.3048, "feet")):
        if abs(metres / size - 1) < 1e-9:
            return name
    return f"units of {metres:g} m"


def _tell_zeros(raster: RasterFile, table: RasterTable, findings: Findings) -> None:
    """Tell of many cells at exactly 0 when all others lie above."""
    values = raster.values
    zeros = int(np.count_nonzero(values == 0))
    if zeros > _ZERO_SHARE * values.size and float(np.nanmin(values)) >= 0 and float(np.nanmedian(values)) > 0:
        above = float(np.min(values[values > 0]))
        if above > 1:
            findings.note(
                "caution",
                f"{zeros:,} cells are exactly 0 and the next lowest is {above:g}: if 0 marks missing cells, add "
                f"{table.key('nodata')} = 0 to [elevation].",
                table.layer,
            )


def _into_working(
    raster: RasterFile, crs: CRS, vertical: tuple[float, str], table: RasterTable, findings: Findings
) -> Heights:
    """The raster in the working CRS, warped where needed."""
    horizontal = horizontal_crs(crs)
    shape = raster.values.shape[0], raster.values.shape[1]
    longitude, latitude = centre_degrees(horizontal, *(raster.transform * (shape[1] / 2, shape[0] / 2)))
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
            findings.note("assumption", told, table.layer)
    values, transform = raster.values, Affine.scale(unit_m) * raster.transform
    if why:
        cell = target_cell_m(shape, raster.transform, horizontal, working)
        new_shape, transform = covering_grid(shape, raster.transform, horizontal, working, cell)
        values = warp_heights(values, raster.transform, horizontal, shape=new_shape, onto=transform, target=working)
        told = f"The raster {why}: it was warped bilinearly to {working.name}, cells of {cell:.2f} m."
        findings.note("assumption", told, table.layer)
    grid = _as_grid(values, transform, vertical[0], working)
    return Heights(grid, crs, output or working, unit_m, bool(why), vertical[1], scale, raster.files)


def _onto_grid(raster: RasterFile, crs: CRS, factor: float, grid: Grid, findings: Findings) -> Grid | None:
    """A surface raster on the cells of the elevation."""
    horizontal, target = horizontal_crs(crs), grid.crs
    if target is None:
        raise ValueError("the elevation's grid has no CRS")
    unit = linear_unit_m(horizontal)
    values = None
    if unit is not None and metric_crs(horizontal) == target:
        values = pasted(raster.values, Affine.scale(unit) * raster.transform, shape=grid.shape, onto=grid.transform)
    if values is None:
        values = warp_heights(
            raster.values, raster.transform, horizontal, shape=grid.shape, onto=grid.transform, target=target
        )
        told = "The surface raster was warped bilinearly onto the cells of the elevation."
        findings.note("assumption", told, "surface")
    surface = _as_grid(values, grid.transform, factor, target)
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
    if not -_SURFACE_LOW_M <= height_m <= _SURFACE_HIGH_M:
        findings.note(
            "caution",
            f"The surface lies {height_m:.1f} m above the ground in the median: check the vertical units.",
            "surface",
        )
    return surface


def _as_grid(values: NDArray[Any], transform: Affine, factor: float, crs: CRS) -> Grid:
    state = np.where(np.isnan(values), NODATA, VALID).astype(np.uint8)
    return Grid(values, transform, state, factor, crs)
