"""Pictures of the ground: a hillshade as the map's base and slope in classes, warped to the map's own projection."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import rasterio.crs
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS, Transformer
from rasterio.io import MemoryFile
from rasterio.warp import Resampling, reproject

from screening.outputs.palette import SLOPE
from screening.rules import Rules
from screening.sources import RasterSource, Window

__all__ = [
    "MERCATOR",
    "Picture",
    "coarse",
    "hillshade",
    "hillshade_picture",
    "mercator_grid",
    "slope_breaks",
    "slope_picture",
    "written_picture",
]

_LONGEST: Final = 2000
"""Most pixels along a picture's longer side."""
_STRIP: Final = 32
"""Rows shaded at a time: they stay in the processor's cache."""
MERCATOR: Final = 3857
"""The map's own projection, Web Mercator."""
_EFFORT: Final = "1"
"""Of WebP, 0 to 6: from 2 on a hillshade takes two to four times as long and comes out no smaller."""
_LIGHTS_DEG: Final = ((315.0, 0.6), (255.0, 0.25), (15.0, 0.15))
"""Azimuths that light falls from, with their weights: from the north-west mostly, so that hills read as hills."""
_SLOPE_ALPHA: Final = (150, 170, 185, 200)
"""How strongly each class of slope is laid on, 0 to 255."""


@dataclass(frozen=True)
class Picture:
    """An image with its corners.

    Parameters
    ----------
    url
        The image as a data URI.
    bounds
        South-west and north-east corner, latitude and longitude [degrees], from the Mercator corners.
    """

    url: str
    bounds: tuple[tuple[float, float], tuple[float, float]]


def coarse(source: RasterSource, longest: int = _LONGEST) -> tuple[NDArray[np.float64], Affine]:
    """Read a raster strip by strip, averaged over squares of cells so that no side exceeds ``longest``.

    Returns
    -------
    tuple
        Values, float64, NaN where a square holds none, and their transform [m].
    """
    rows, columns = source.shape
    factor = max(1, -(-max(rows, columns) // longest))
    out = []
    for row in range(0, rows, factor * 64):
        window = Window(row, 0, min(factor * 64, rows - row), columns)
        out.append(_block_mean(np.asarray(source.read(window), dtype=np.float64), factor))
    cells = source.transform
    return np.vstack(out), Affine(cells.a * factor, 0.0, cells.c, 0.0, cells.e * factor, cells.f)


def _block_mean(values: NDArray[np.float64], factor: int) -> NDArray[np.float64]:
    """Mean over squares of ``factor`` cells, cells without a value left out; the last squares may be smaller."""
    if factor == 1:
        return values
    known = np.isfinite(values)
    if known.all():
        down, across = (np.diff(np.append(np.arange(0, size, factor), size)) for size in values.shape)
        return np.asarray(_block_sum(values, factor) / np.outer(down, across))
    total = _block_sum(np.where(known, values, 0.0), factor)
    count = _block_sum(known.astype(np.float64), factor)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def _block_sum(values: NDArray[np.float64], factor: int) -> NDArray[np.float64]:
    """Sum over squares of ``factor`` cells, row by row and cell by cell."""
    rows, columns = values.shape
    out = np.zeros((-(-rows // factor), -(-columns // factor)))
    for row in range(factor):
        for column in range(factor):
            part = values[row::factor, column::factor]
            out[: part.shape[0], : part.shape[1]] += part
    return out


def hillshade(heights_m: NDArray[np.float64], cell_x_m: float, cell_y_m: float) -> NDArray[np.float64]:
    """Shade the ground as lit from three sides.

    Heights are raised so that gentle ground still shows: by 0.15 over the median gradient, 1 to 6 times.

    Parameters
    ----------
    heights_m
        Heights, shape (rows, columns), NaN where none. [m]
    cell_x_m, cell_y_m
        Size of a cell. [m]

    Returns
    -------
    numpy.ndarray
        Light, 0 to 1, NaN where there is no height.
    """
    known = np.isfinite(heights_m)
    filled = heights_m if known.all() else np.where(known, heights_m, np.nanmean(heights_m) if known.any() else 0.0)
    south, east = np.gradient(filled, cell_y_m, cell_x_m) if min(filled.shape) > 1 else (filled * 0, filled * 0)
    steep = np.hypot(east, south)
    usual = float(np.median(steep if known.all() else steep[known])) if known.any() else 0.0
    raised = float(np.clip(0.15 / usual, 1.0, 6.0)) if usual > 0 else 1.0
    light = np.empty(filled.shape)
    for row in range(0, len(light), _STRIP):
        strip = slice(row, row + _STRIP)
        light[strip] = _lit(east[strip], -south[strip], raised)
    light[~known] = np.nan
    return light


def _lit(east: NDArray[np.float64], north: NDArray[np.float64], raised: float) -> NDArray[np.float64]:
    """Light on ground of these gradients, raised so many times."""
    steep = np.sqrt(1.0 + (raised * east) ** 2 + (raised * north) ** 2)
    altitude = np.radians(45.0)
    light = np.zeros(steep.shape)
    for azimuth_deg, weight in _LIGHTS_DEG:
        azimuth = np.radians(azimuth_deg)
        toward = -raised * (east * np.sin(azimuth) + north * np.cos(azimuth))
        light += weight * np.clip((np.sin(altitude) + np.cos(altitude) * toward) / steep, 0.0, 1.0)
    return light


def mercator_grid(shape: tuple[int, int], transform: Affine, crs: CRS) -> tuple[Affine, int, int]:
    """A Web Mercator grid over a raster, of about as many cells: transform, height, width."""
    rows, columns = shape
    west, north = transform.c, transform.f
    to_mercator = Transformer.from_crs(crs, MERCATOR, always_xy=True)
    left, bottom, right, top = to_mercator.transform_bounds(
        west, north + rows * transform.e, west + columns * transform.a, north, densify_pts=21
    )
    pixel = float(np.sqrt((right - left) * (top - bottom) / (rows * columns)))
    height, width = (max(1, int(np.ceil(extent / pixel))) for extent in (top - bottom, right - left))
    return Affine(pixel, 0.0, left, 0.0, -pixel, top), height, width


def _warp(values: NDArray[Any], transform: Affine, crs: CRS, resampling: Resampling) -> tuple[NDArray[Any], Affine]:
    """Values on a Web Mercator grid, NaN outside; 0 for whole numbers."""
    to, height, width = mercator_grid((values.shape[0], values.shape[1]), transform, crs)
    none = np.nan if values.dtype.kind == "f" else 0
    out = np.full((height, width), none, dtype=values.dtype)
    reproject(
        values, out, src_transform=transform, src_crs=rasterio.crs.CRS.from_wkt(crs.to_wkt()), src_nodata=none,
        dst_transform=to, dst_crs=rasterio.crs.CRS.from_epsg(MERCATOR), dst_nodata=none, resampling=resampling,
    )  # fmt: skip
    return out, to


def written_picture(rgba: NDArray[np.uint8], transform: Affine, lossless: bool) -> Picture:
    """Write bands as WebP and find the corners.

    Parameters
    ----------
    rgba
        Bands, shape (3 or 4, height, width): red, green, blue and how opaque, where not all is.
    transform
        From (column, row) to Web Mercator [m].
    lossless
        Keep every value, for pictures of few colours.
    """
    bands, height, width = rgba.shape
    options = {"LOSSLESS": "YES"} if lossless else {"QUALITY": "70", "METHOD": _EFFORT}
    profile = {
        "driver": "WEBP",
        "width": width,
        "height": height,
        "count": bands,
        "dtype": "uint8",
        "transform": transform,
    }
    with MemoryFile() as memory:
        with memory.open(**profile, **options) as out:
            out.write(rgba)
        data = memory.read()
    west, north = transform.c, transform.f
    east, south = west + width * transform.a, north + height * transform.e
    lon, lat = Transformer.from_crs(MERCATOR, 4326, always_xy=True).transform([west, east], [south, north])
    url = "data:image/webp;base64," + base64.b64encode(data).decode("ascii")
    return Picture(url, ((float(lat[0]), float(lon[0])), (float(lat[1]), float(lon[1]))))


def hillshade_picture(heights: RasterSource, crs: CRS) -> Picture:
    """The map's base: pale where light falls, clear where there is no elevation."""
    values, transform = coarse(heights)
    light, to = _warp(hillshade(values, transform.a, -transform.e), transform, crs, Resampling.bilinear)
    known = np.isfinite(light)
    flat = np.sin(np.radians(45.0))
    grey = np.clip(214 + 190 * (np.where(known, light, flat) - flat), 90, 255).astype(np.uint8)
    alpha = np.where(known, 255, 0).astype(np.uint8)
    return written_picture(np.stack([grey, grey, grey, alpha]), to, lossless=False)


def slope_breaks(rules: Rules) -> tuple[float, ...]:
    """Where slope classes begin, by the rules: half the slope to look at, that slope, the limit, steep ground [%]."""
    return (rules.slope_look_pct / 2, rules.slope_look_pct, rules.slope_limit_pct, rules.steep_ground_pct)


def slope_picture(slope_pct: RasterSource, crs: CRS, rules: Rules) -> Picture:
    """Slope in classes at the rules' limits, clear where it is gentle or unknown."""
    values, transform = coarse(slope_pct)
    classes = np.searchsorted(slope_breaks(rules), np.nan_to_num(values, nan=0.0), side="right").astype(np.uint8)
    warped, to = _warp(classes, transform, crs, Resampling.nearest)
    shades = [[*bytes.fromhex(colour[1:]), alpha] for colour, alpha in zip(SLOPE, _SLOPE_ALPHA, strict=True)]
    colours = np.array([[0, 0, 0, 0], *shades], dtype=np.uint8)
    return written_picture(np.moveaxis(colours[warped], 2, 0), to, lossless=True)
