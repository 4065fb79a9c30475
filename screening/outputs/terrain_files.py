"""Terrain rasters as cloud-optimized GeoTIFFs, in the CRS and on the cells of the elevation they come from."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import rasterio
import rasterio.shutil
from affine import Affine
from numpy.typing import NDArray
from rasterio.enums import Resampling
from rasterio.windows import Window as RasterioWindow

from screening.fields import LAYERS
from screening.result import Screening
from screening.sources import Window

__all__ = ["RASTERS", "TerrainFile", "write_terrain"]

_TILE: Final = 512
"""Cells along a tile of a file."""
_ROWS: Final = 512
"""Rows read and written at a time: memory stays that of one strip."""


@dataclass(frozen=True)
class TerrainFile:
    """How one raster is written.

    Parameters
    ----------
    layer
        Its name in ``fields.LAYERS``.
    dtype, nodata
        Type of its cells and their mark for no value.
    overview
        How overviews are made.
    parts
        Values are rounded to one over this, half up; 0 leaves them. A power of two, as those compress best.
    predictor
        Whether the difference to the cell before is what is compressed.
    """

    layer: str
    dtype: str
    nodata: float
    overview: str
    parts: int = 0
    predictor: bool = False


RASTERS: Final = (
    TerrainFile("slope_pct", "float32", float("nan"), "average", parts=64, predictor=True),
    TerrainFile("flow_direction", "uint8", 255, "nearest"),
    TerrainFile("accumulation_cells", "uint32", 0, "nearest"),
    TerrainFile("hollow_depth_m", "float32", float("nan"), "average", parts=1024),
)


def _cells(values: NDArray[Any], missing: NDArray[np.bool_], file: TerrainFile) -> NDArray[Any]:
    """Values as the file holds them, with its mark where there is no elevation."""
    if file.dtype == "uint32":
        values = np.clip(values, 0, np.iinfo(np.uint32).max)
    cells = values.astype(file.dtype)
    if file.parts:
        cells *= file.parts
        np.floor(cells + np.float32(0.5), out=cells)
        cells /= file.parts
    cells[missing] = file.nodata
    if np.issubdtype(values.dtype, np.floating):
        cells[~np.isfinite(values)] = file.nodata
    return cells


def _output_transform(transform: Affine, result: Screening) -> Affine:
    """The transform in units of the output CRS; cells untouched."""
    unit = result.unit_m
    return Affine(*(value / unit for value in tuple(transform)[:6])) if unit != 1.0 else transform


def _plain(result: Screening, file: TerrainFile, path: Path) -> Any:
    """A tiled file to write strips to, with the raster's meaning and unit."""
    source = result.rasters[file.layer]
    field = next(field for field in LAYERS if field.name == file.layer)
    rows, columns = source.shape
    profile = {
        "driver": "GTiff", "height": rows, "width": columns, "count": 1, "dtype": file.dtype, "nodata": file.nodata,
        "transform": _output_transform(source.transform, result), "crs": result.output_crs.to_wkt(), "tiled": True,
        "blockxsize": _TILE, "blockysize": _TILE, "bigtiff": "IF_SAFER",
    }  # fmt: skip
    out = rasterio.open(path, "w", **profile)
    out.set_band_description(1, file.layer)
    out.set_band_unit(1, field.unit)
    out.update_tags(1, meaning=field.meaning)
    return out


def _write_strips(result: Screening, plain: Mapping[TerrainFile, Path]) -> None:
    """Write strips of all rasters to plain files, so that the elevation that says where there is none is read once."""
    heights = result.rasters["heights_m"]
    rows, columns = heights.shape
    with ExitStack() as stack:
        outs = {file: stack.enter_context(_plain(result, file, path)) for file, path in plain.items()}
        for row in range(0, rows, _ROWS):
            window = Window(row, 0, min(_ROWS, rows - row), columns)
            missing = ~np.isfinite(heights.read(window))
            for file, out in outs.items():
                cells = _cells(result.rasters[file.layer].read(window), missing, file)
                out.write(cells, 1, window=RasterioWindow(0, row, columns, window.rows))


def _overviews(plain: Path, file: TerrainFile) -> None:
    """Add overviews, each half the one before, until one fits into a tile."""
    with rasterio.open(plain, "r+") as raster:
        longest = max(raster.shape)
        levels = [2**level for level in range(1, 32) if longest > _TILE * 2 ** (level - 1)]
        raster.build_overviews(levels, Resampling[file.overview])


def write_terrain(result: Screening, folder: Path) -> dict[str, Path]:
    """Write each raster of ``RASTERS`` that the result has; paths by layer name.

    Strips go to a plain file, which GDAL then lays out as a cloud-optimized one.
    """
    folder.mkdir(parents=True, exist_ok=True)
    files = [file for file in RASTERS if file.layer in result.rasters]
    paths = {file.layer: folder / f"{file.layer}.tif" for file in files}
    with tempfile.TemporaryDirectory(dir=folder) as aside:
        plain = {file: Path(aside) / f"{file.layer}.tif" for file in files}
        _write_strips(result, plain)
        for file in files:
            _overviews(plain[file], file)
            rasterio.shutil.copy(
                plain[file], paths[file.layer], driver="COG", compress="deflate", level=1,
                predictor="yes" if file.predictor else "no", blocksize=_TILE, overviews="auto",
                bigtiff="IF_SAFER", num_threads="1",
            )  # fmt: skip
            plain[file].unlink()
    return paths
