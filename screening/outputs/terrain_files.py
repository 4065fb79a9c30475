"""Terrain rasters as cloud-optimized GeoTIFFs, in the CRS and on the cells of the elevation they come from."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import rasterio
import rasterio.shutil
from numpy.typing import NDArray
from rasterio.windows import Window as RasterioWindow

from screening.fields import LAYERS
from screening.outputs.output_crs import output_transform
from screening.result import Screening
from screening.sources import Window

__all__ = ["RASTERS", "TerrainFile", "write_terrain"]

_ROWS: Final = 512
"""Rows read and written at a time: memory stays that of one strip."""


@dataclass(frozen=True)
class TerrainFile:
    """How one raster is written: its type, its mark for no value, and how overviews are made."""

    layer: str
    dtype: str
    nodata: float
    overview: str


RASTERS: Final = (
    TerrainFile("slope_pct", "float32", float("nan"), "average"),
    TerrainFile("flow_direction", "uint8", 255, "nearest"),
    TerrainFile("accumulation_cells", "uint32", 0, "nearest"),
    TerrainFile("hollow_depth_m", "float32", float("nan"), "average"),
)


def _strip(result: Screening, file: TerrainFile, window: Window) -> NDArray[Any]:
    """One strip of a raster, with the file's mark where there is no elevation."""
    values = result.rasters[file.layer].read(window)
    missing = ~np.isfinite(result.rasters["heights_m"].read(window))
    if np.issubdtype(values.dtype, np.floating):
        missing |= ~np.isfinite(values)
    kept = np.where(missing, 0, values)
    if file.dtype == "uint32":
        kept = np.minimum(kept, np.iinfo(np.uint32).max)
    strip = kept.astype(file.dtype)
    strip[missing] = file.nodata
    return strip


def _write_one(result: Screening, file: TerrainFile, path: Path) -> Path:
    """Write strips to a plain tiled file, then let GDAL lay it out as a cloud-optimized one."""
    source = result.rasters[file.layer]
    rows, columns = source.shape
    field = next(field for field in LAYERS if field.name == file.layer)
    with tempfile.TemporaryDirectory(dir=path.parent) as folder:
        plain = Path(folder) / "plain.tif"
        profile = {
            "driver": "GTiff", "height": rows, "width": columns, "count": 1, "dtype": file.dtype,
            "nodata": file.nodata, "transform": output_transform(source.transform, result),
            "crs": result.output_crs.to_wkt(), "tiled": True, "blockxsize": 512, "blockysize": 512,
            "compress": "lzw", "bigtiff": "IF_SAFER",
        }  # fmt: skip
        with rasterio.open(plain, "w", **profile) as out:
            out.set_band_description(1, file.layer)
            out.set_band_unit(1, field.unit)
            out.update_tags(1, meaning=field.meaning)
            for row in range(0, rows, _ROWS):
                window = Window(row, 0, min(_ROWS, rows - row), columns)
                out.write(_strip(result, file, window), 1, window=RasterioWindow(0, row, columns, window.rows))
        rasterio.shutil.copy(
            plain, path, driver="COG", compress="deflate", level=6, predictor="yes", blocksize=512,
            overview_resampling=file.overview, overviews="auto", bigtiff="IF_SAFER", num_threads="1",
        )  # fmt: skip
    return path


def write_terrain(result: Screening, folder: Path) -> dict[str, Path]:
    """Write each raster of ``RASTERS`` that the result has; paths by layer name."""
    folder.mkdir(parents=True, exist_ok=True)
    return {
        file.layer: _write_one(result, file, folder / f"{file.layer}.tif")
        for file in RASTERS
        if file.layer in result.rasters
    }
