"""A made-up air photo over the made-up town, and services that no network knows."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from affine import Affine
from pyproj import CRS
from rasterio.warp import transform_bounds

from screening.background import Background, OnlineTiles, Photo, PhotoFile
from screening.result import Screening

TILES = OnlineTiles("https://tiles.example.org/{z}/{x}/{y}.png?key=made-up", "Made-up cartographers", 18)
PHOTO_TILES = OnlineTiles("https://air.example.com:8443/{z}/{x}/{-y}.jpg", "Made-up flyers", 19)


def bounds_of(result: Screening) -> tuple[float, float, float, float]:
    """West, south, east, north of the elevation [m]."""
    heights = result.rasters["heights_m"]
    cells, (rows, columns) = heights.transform, heights.shape
    return cells.c, cells.f + rows * cells.e, cells.c + columns * cells.a, cells.f


def write_photo(path: Path, bands: np.ndarray, transform: Affine, crs: Any, **more: Any) -> PhotoFile:
    """Write bands, shape (count, rows, columns), as GeoTIFF."""
    count, height, width = bands.shape
    profile = {"driver": "GTiff", "count": count, "height": height, "width": width, "dtype": bands.dtype}
    with rasterio.open(path, "w", **profile, crs=crs, transform=transform, **more) as out:
        out.write(bands)
    return PhotoFile(str(path), path.name, CRS.from_user_input(crs).to_wkt())


def photo_over(result: Screening, path: Path, *, pixel: float = 0.5) -> Photo:
    """Green ground over the whole of a result, in another CRS, red where x and y are within 10 m of its middle."""
    west, south, east, north = transform_bounds(result.crs.to_wkt(), "EPSG:32625", *bounds_of(result))
    columns, rows = int((east - west + 40) / pixel), int((north - south + 40) / pixel)
    light = np.zeros((3, rows, columns), dtype=np.uint8)
    light[0], light[1], light[2] = 60, 140, 70
    return Photo((write_photo(path, light, Affine(pixel, 0, west - 20, 0, -pixel, north + 20), "EPSG:32625"),))


def background_for(result: Screening, folder: Path) -> Background:
    """All three backgrounds."""
    return Background(photo_over(result, folder / "photo.tif"), TILES, PHOTO_TILES)
