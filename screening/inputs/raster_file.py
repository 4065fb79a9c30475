"""Read one raster file: its heights with every kind of missing value made NaN, and what it says of itself."""

from __future__ import annotations

import math
import warnings
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
import rasterio
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS
from pyproj.exceptions import CRSError
from rasterio.errors import NotGeoreferencedWarning, RasterioError
from rasterio.windows import Window

from screening.inputs.findings import Findings
from screening.inputs.memory import tell_too_many
from screening.inputs.placing import Bounds
from screening.inputs.working_crs import crs_of

__all__ = ["SENTINELS", "RasterFile", "cells_of", "read_raster"]

SENTINELS: Final = (-9999.0, -32768.0, -32767.0, -99999.0, -999999.0)
"""Values that mark missing cells by habit; a height of so much is no height."""

_LARGEST = 1e30
"""Beyond this (the largest float32 is 3.4e38) a value is a mark, not a height."""


@dataclass(frozen=True, eq=False)
class RasterFile:
    """One band of one raster file.

    Parameters
    ----------
    name
        The file, as people know it.
    values
        Heights, float32 or float64, NaN where missing.
    transform
        From (column, row) to the CRS's units.
    crs
        None when the file has none.
    unit
        The band's unit as the file writes it, empty when it says none.
    files
        Every file that GDAL opens for it (a VRT's tiles, a world file).
    """

    name: str
    values: NDArray[Any]
    transform: Affine
    crs: CRS | None
    unit: str
    bands: int
    files: tuple[str, ...]


def read_raster(
    path: str,
    name: str,
    findings: Findings,
    *,
    layer: str,
    band: int = 1,
    nodata: float | None = None,
    key: str = "nodata",
    crs: str | None = None,
    around: Callable[[CRS], Bounds] | None = None,
    most_cells: float = math.inf,
) -> RasterFile | None:
    """Read one band of a raster.

    Missing are: the declared value, NaN, infinities, what the dataset's mask hides, and ``nodata``. Values that look
    like an undeclared mark of missing cells are a fault.

    Parameters
    ----------
    path, name
        Where it is and how to name it to people.
    findings
        Where faults go.
    layer
        ``elevation`` or ``surface``.
    band
        The band.
    nodata
        A value that marks missing cells, where the file does not say.
    key
        The key of ``nodata`` in the area file, for the fault.
    crs
        CRS where the file does not say.
    around
        From a CRS to the rectangle in it that is to be read; all when None. A raster without a height there comes back
        without cells.
    most_cells
        A raster of more is not read; that is a fault.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", NotGeoreferencedWarning)
            with rasterio.open(path) as dataset:
                if band > dataset.count:
                    findings.fault(f"There is no band {band}", f"The file has {dataset.count}", file=name, layer=layer)
                    return None
                window = _window(dataset, crs, around)
                cells = window.width * window.height
                if cells > most_cells:
                    tell_too_many(cells, findings, file=name, layer=layer)
                    return None
                raster = _read_dataset(dataset, name, band, nodata, window)
    except (RasterioError, OSError, CRSError) as error:
        findings.fault(
            "The raster cannot be read", f"GDAL says: {str(error).replace(path, name)}", file=name, layer=layer
        )
        return None
    return _usable(raster, findings, layer, key, in_part=around is not None)


def _usable(raster: RasterFile, findings: Findings, layer: str, key: str, *, in_part: bool) -> RasterFile | None:
    """The raster where it is georeferenced and its heights are heights."""
    if raster.transform == Affine.identity():
        findings.fault(
            "The raster is not georeferenced",
            "Give it a world file, or write it as GeoTIFF",
            file=raster.name,
            layer=layer,
        )
        return None
    if in_part and not np.isfinite(raster.values).any():
        return replace(raster, values=raster.values[:0, :0])
    return raster if _no_sentinels(raster, findings, layer, key) else None


def cells_of(bounds: Bounds, shape: tuple[int, int], transform: Affine) -> Window | None:
    """The cells of a raster that meet a rectangle; None when none does.

    Parameters
    ----------
    bounds
        West, south, east, north, in the raster's CRS.
    shape, transform
        Rows and columns; from (column, row) to the CRS's units, rotated or not.
    """
    west, south, east, north = bounds
    corners = np.array([~transform @ (x, y) for x in (west, east) for y in (south, north)])
    if not np.isfinite(corners).all():
        return None
    left, top = (max(math.floor(edge), 0) for edge in corners.min(axis=0))
    right = min(math.ceil(corners[:, 0].max()), shape[1])
    bottom = min(math.ceil(corners[:, 1].max()), shape[0])
    return Window(left, top, right - left, bottom - top) if right > left and bottom > top else None


def _window(dataset: Any, crs: str | None, around: Callable[[CRS], Bounds] | None) -> Window:
    """The cells to read."""
    whole = Window(0, 0, dataset.width, dataset.height)
    said = crs_of(crs or (dataset.crs.to_wkt(version="WKT2_2019") if dataset.crs else None))
    if around is None or said is None or dataset.transform.is_identity:
        return whole
    return cells_of(around(said), dataset.shape, dataset.transform) or Window(0, 0, 0, 0)


def _read_dataset(dataset: Any, name: str, band: int, nodata: float | None, window: Window) -> RasterFile:
    raw: Any
    if window.width:
        raw, hidden = dataset.read(band, window=window), dataset.read_masks(band, window=window) == 0
    else:
        raw, hidden = np.empty((0, 0), dataset.dtypes[band - 1]), np.zeros((0, 0), bool)
    wide = raw.dtype == np.float64 or (np.issubdtype(raw.dtype, np.integer) and raw.dtype.itemsize > 2)
    values: NDArray[Any] = raw.astype(np.float64 if wide else np.float32, copy=False)
    if nodata is not None:
        hidden |= values == values.dtype.type(nodata)
    values[hidden | ~np.isfinite(values)] = np.nan
    scale, offset = dataset.scales[band - 1], dataset.offsets[band - 1]
    if (scale, offset) != (1.0, 0.0):
        values = (values * values.dtype.type(scale) + values.dtype.type(offset)).astype(values.dtype)
    return RasterFile(
        name=name,
        values=values,
        transform=dataset.transform @ Affine.translation(window.col_off, window.row_off),
        crs=CRS.from_user_input(dataset.crs.to_wkt(version="WKT2_2019")) if dataset.crs else None,
        unit=dataset.units[band - 1] or "",
        bands=dataset.count,
        files=tuple(file for file in dataset.files if not file.endswith(".aux.xml")),
    )


def _no_sentinels(raster: RasterFile, findings: Findings, layer: str, key: str) -> bool:
    """Whether no value looks like an undeclared mark of missing cells."""
    values = raster.values
    if not np.isfinite(values).any():
        findings.fault("The raster has no cell with a height", "Check its nodata value", file=raster.name, layer=layer)
        return False
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    suspects = [mark for mark in SENTINELS if low <= mark and np.any(values == mark)]
    suspects += [value for value in (low, high) if abs(value) > _LARGEST]
    for mark in suspects:
        count = int(np.count_nonzero(values == mark))
        findings.fault(
            f"{count:,} cells hold {mark:g}, which looks like a mark of missing cells that the file does not declare",
            f"Add {key} = {mark!r} to [elevation]",
            file=raster.name,
            layer=layer,
        )
    return not suspects


def north_up(raster: RasterFile) -> RasterFile:
    """The raster with rows running south and columns east, where it is merely flipped; rotated ones stay."""
    values, transform = raster.values, raster.transform
    if transform.b or transform.d:
        return raster
    rows, columns = values.shape
    if transform.e > 0:
        values, transform = values[::-1], transform @ Affine.translation(0, rows) @ Affine.scale(1, -1)
    if transform.a < 0:
        values, transform = values[:, ::-1], transform @ Affine.translation(columns, 0) @ Affine.scale(-1, 1)
    return replace(raster, values=np.ascontiguousarray(values), transform=transform)
