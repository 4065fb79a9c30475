"""An air photo as a picture in the map's own projection, read strip by strip and no finer than it is shown.

Where files overlap the first lies over the second; where one is clear in part, at its edge, the other shows through.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import rasterio
import rasterio.crs
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS, Transformer
from rasterio.enums import ColorInterp
from rasterio.vrt import WarpedVRT
from rasterio.warp import Resampling
from rasterio.windows import Window

from screening.background import Photo, PhotoFile
from screening.outputs.map.relief import MERCATOR, Picture, mercator_grid, written_picture
from screening.sources import RasterSource

__all__ = ["LONGEST", "Stretch", "photo_picture", "stretch_of"]

LONGEST: Final = 4000
"""Most pixels along the picture's longer side."""
_COARSE: Final = 500
"""Pixels along the longer side of what the stretch is found on."""
_STRIP: Final = 256
"""Rows warped at a time."""
_SHARES_PCT: Final = (1.0, 99.0)
"""Of the values of a photo of 16 bits, those below the first become black and those above the second white."""

Stretch = tuple[float, float]
"""The values of a photo of 16 bits that become black and white."""


@dataclass(frozen=True)
class _Target:
    """The picture's pixels: transform to Web Mercator [m], rows and columns."""

    transform: Affine
    rows: int
    columns: int


def photo_picture(photo: Photo, around: RasterSource, crs: CRS, stretch: Stretch | None = None) -> Picture | None:
    """The part of a photo that lies on a raster.

    Parameters
    ----------
    photo
        The photo.
    around, crs
        The raster whose extent is shown, and its CRS.
    stretch
        Which values of a photo of 16 bits become black and white.

    Returns
    -------
    Picture or None
        Clear where the photo is; not wider or higher than ``LONGEST`` pixels, and not finer than the photo. None where
        all of it is clear.
    """
    target = _target(photo, around, crs, LONGEST)
    rgba = np.zeros((4, target.rows, target.columns), dtype=np.uint8)
    for file in photo.files:
        for window, light, alpha in _warped(file, target):
            _lay_under(rgba[(slice(None), *window.toslices())], _as_bytes(light, stretch), alpha)
    if not rgba[3].any():
        return None
    return written_picture(rgba[:3] if rgba[3].min() == 255 else rgba, target.transform, lossless=False)


def stretch_of(photo: Photo, around: RasterSource, crs: CRS) -> Stretch | None:
    """The values that become black and white: the first and last hundredth of all bands together, so that colours stay.

    Parameters
    ----------
    photo
        The photo.
    around, crs
        The raster whose extent is looked at, and its CRS.

    Returns
    -------
    tuple or None
        None for a photo of bytes, which are taken as they are, and where the photo is clear.
    """
    target = _target(photo, around, crs, _COARSE)
    seen = [np.empty(0, dtype=np.uint16)]
    for file in (file for file in photo.files if not _holds_bytes(file)):
        seen += [light[:, alpha == 255].ravel() for _, light, alpha in _warped(file, target)]
    values = np.concatenate(seen)
    if not values.size:
        return None
    low, high = (float(value) for value in np.percentile(values, _SHARES_PCT))
    return low, max(high, low + 1)


def _holds_bytes(file: PhotoFile) -> bool:
    """Whether a file holds bytes, not 16 bits."""
    with rasterio.open(file.path) as dataset:
        return bool(dataset.dtypes[0] == "uint8")


def _as_bytes(light: NDArray[Any], stretch: Stretch | None) -> NDArray[np.uint8]:
    """Light as bytes: bytes as they are, 16 bits stretched (the whole range where nothing is known)."""
    if light.dtype == np.uint8:
        return light
    low, high = stretch or (0.0, 65535.0)
    scaled = (light.astype(np.float32) - low) * (255 / (high - low))
    return np.asarray(np.clip(np.floor(scaled + 0.5), 0, 255), dtype=np.uint8)


def _lay_under(rgba: NDArray[np.uint8], light: NDArray[np.uint8], alpha: NDArray[np.uint8]) -> None:
    """Lay more of the photo under what is there, in place."""
    above = rgba[3].astype(np.uint16)
    share = np.minimum(alpha, 255 - above).astype(np.uint16)
    new = share > 0
    total = np.maximum(above + share, 1)
    for band in range(3):
        mixed = (rgba[band].astype(np.uint32) * above + light[band].astype(np.uint32) * share + total // 2) // total
        rgba[band] = np.where(new, mixed, rgba[band])
    rgba[3] = above + share


def _target(photo: Photo, around: RasterSource, crs: CRS, longest: int) -> _Target:
    """The pixels to warp to: over the raster, as fine as the finest file, but with no more than ``longest`` a side."""
    cells, rows, columns = mercator_grid(around.shape, around.transform, crs)
    width, height = columns * cells.a, rows * cells.a
    x, y = cells.c + width / 2, cells.f - height / 2
    finest = min(_pixel_m(file, x, y) for file in photo.files)
    pixel = max(finest, max(width, height) / longest)
    shape = (max(1, round(extent / pixel)) for extent in (height, width))
    return _Target(Affine(pixel, 0.0, cells.c, 0.0, -pixel, cells.f), *shape)


def _pixel_m(file: PhotoFile, x: float, y: float) -> float:
    """Side of a file's pixels at a place, in metres of Web Mercator."""
    with rasterio.open(file.path) as dataset:
        back = ~dataset.transform
    to_file = Transformer.from_crs(MERCATOR, CRS.from_wkt(file.crs), always_xy=True)
    column, row = back @ to_file.transform(np.array([x - 50, x + 50, x, x]), np.array([y, y, y - 50, y + 50]))
    across = np.hypot(column[1] - column[0], row[1] - row[0])
    down = np.hypot(column[3] - column[2], row[3] - row[2])
    return float(100 / np.sqrt(across * down))


def _warped(file: PhotoFile, target: _Target) -> Iterator[tuple[Window, NDArray[Any], NDArray[np.uint8]]]:
    """A file strip by strip on the picture's pixels: where, its three bands, and how opaque it is.

    Of the overviews that the file carries, the coarsest that is still as fine as the picture is read.
    """
    middle = target.transform @ (target.columns / 2, target.rows / 2)
    times = target.transform.a / _pixel_m(file, *middle)
    with rasterio.open(file.path) as dataset:
        levels = [number for number, factor in enumerate(dataset.overviews(1)) if factor <= times * 1.01]
        if levels:
            times /= dataset.overviews(1)[levels[-1]]
    options = {"overview_level": levels[-1]} if levels else {}
    with rasterio.open(file.path, **options) as dataset:
        kinds = list(dataset.colorinterp)
        clear = kinds.index(ColorInterp.alpha) + 1 if ColorInterp.alpha in kinds else 0
        how: dict[str, Any] = {
            "src_crs": rasterio.crs.CRS.from_wkt(file.crs), "crs": rasterio.crs.CRS.from_epsg(MERCATOR),
            "transform": target.transform, "height": target.rows, "width": target.columns,
            "resampling": Resampling.average if times > 1.5 else Resampling.bilinear,
            "UNIFIED_SRC_NODATA": "YES",
        }  # fmt: skip
        with WarpedVRT(dataset, add_alpha=not clear, **how) as warped:
            bands = _light_bands(kinds)
            for window in _strips(dataset, file, target):
                opaque = warped.read(clear or dataset.count + 1, window=window)
                light = warped.read(bands, window=window)
                yield window, light, opaque if opaque.dtype == np.uint8 else np.where(opaque > 0, 255, 0).astype("u1")


def _light_bands(kinds: list[ColorInterp]) -> list[int]:
    """Bands of red, green and blue, by what the file says of them, else the first three; grey counts as all."""
    light = [number for number, kind in enumerate(kinds, start=1) if kind != ColorInterp.alpha]
    if len(light) < 3:
        return [light[0]] * 3
    named = (ColorInterp.red, ColorInterp.green, ColorInterp.blue)
    return [kinds.index(kind) + 1 for kind in named] if set(named) <= set(kinds) else light[:3]


def _strips(dataset: Any, file: PhotoFile, target: _Target) -> Iterator[Window]:
    """Strips of the picture that a file reaches into."""
    along = np.linspace(0.0, 1.0, 21)
    zero, one = np.zeros_like(along), np.ones_like(along)
    across = np.concatenate([along, along, zero, one]) * dataset.width
    down = np.concatenate([zero, one, along, along]) * dataset.height
    to_mercator = Transformer.from_crs(CRS.from_wkt(file.crs), MERCATOR, always_xy=True)
    column, row = ~target.transform @ to_mercator.transform(*(dataset.transform @ (across, down)))
    if not (np.isfinite(column).all() and np.isfinite(row).all()):
        column, row = np.array([0, target.columns]), np.array([0, target.rows])
    left, right = max(int(column.min()) - 1, 0), min(int(column.max()) + 2, target.columns)
    first, last = max(int(row.min()) - 1, 0), min(int(row.max()) + 2, target.rows)
    if right <= left:
        return
    for top in range(first, last, _STRIP):
        yield Window(left, top, right - left, min(_STRIP, last - top))
