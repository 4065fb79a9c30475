"""Rasters by window, so that no stage ever sees a file and terrain streams in tiles.

A ``RasterSource`` is anything that has a shape, a transform and can read a window; a ``RasterSink`` is anything
that windows can be written to. Both are safe to share between threads: the file forms open their dataset anew
for each call, as a dataset must never cross threads or processes.
"""

from __future__ import annotations

import os
import threading
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, Protocol, runtime_checkable

import numpy as np
import rasterio
import rasterio.features
import rasterio.shutil
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS
from rasterio.windows import Window as RasterioWindow

__all__ = [
    "ArraySink",
    "ArraySource",
    "GeoTiffSink",
    "GeoTiffSource",
    "RasterSink",
    "RasterSource",
    "Window",
    "rasterized",
]

_ALONE: Final = threading.Lock()


@dataclass(frozen=True, order=True)
class Window:
    """A block of cells: first row, first column, rows, columns."""

    row: int
    column: int
    rows: int
    columns: int

    @property
    def slices(self) -> tuple[slice, slice]:
        """The window as a pair of slices."""
        return slice(self.row, self.row + self.rows), slice(self.column, self.column + self.columns)

    def clipped(self, shape: tuple[int, int]) -> Window:
        """The part of the window that lies inside a raster of this shape."""
        row, column = max(self.row, 0), max(self.column, 0)
        return Window(
            row,
            column,
            max(min(self.row + self.rows, shape[0]) - row, 0),
            max(min(self.column + self.columns, shape[1]) - column, 0),
        )


@runtime_checkable
class RasterSource(Protocol):
    """Something that one band of cells can be read from, window by window."""

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        ...

    @property
    def transform(self) -> Affine:
        """From (column, row) to (x, y) [m]."""
        ...

    @property
    def dtype(self) -> np.dtype[Any]:
        """Type of the values that ``read`` returns."""
        ...

    @property
    def crs(self) -> CRS | None:
        """The working CRS."""
        ...

    def read(self, window: Window | None = None) -> NDArray[Any]:
        """Values of a window inside the raster (the whole when None); floats carry NaN where there is no value."""
        ...


@runtime_checkable
class RasterSink(Protocol):
    """Something that one band of cells can be written to, window by window."""

    def write(self, window: Window, values: NDArray[Any]) -> None:
        """Write the values of a window."""
        ...


@dataclass(frozen=True, eq=False)
class ArraySource:
    """A raster in memory."""

    values: NDArray[Any]
    transform: Affine
    crs: CRS | None = None

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.values.shape[0], self.values.shape[1]

    @property
    def dtype(self) -> np.dtype[Any]:
        """Type of the values."""
        return self.values.dtype

    def read(self, window: Window | None = None) -> NDArray[Any]:
        """A view of a window (the whole when None)."""
        return self.values if window is None else self.values[window.slices]


@dataclass(frozen=True, eq=False)
class ArraySink:
    """A raster in memory to write to."""

    values: NDArray[Any]

    def write(self, window: Window, values: NDArray[Any]) -> None:
        """Copy the values of a window into the array."""
        self.values[window.slices] = values


@dataclass(frozen=True)
class GeoTiffSource:
    """One band of any raster file that GDAL reads; opened anew for each window.

    ``transform_m`` replaces the file's own when the file's linear unit is not the metre.
    """

    path: Path
    band: int = 1
    transform_m: Affine | None = None
    working_crs: CRS | None = None
    _meta: dict[str, Any] = field(default_factory=dict, compare=False, repr=False)

    def _read_meta(self) -> dict[str, Any]:
        if not self._meta:
            with rasterio.open(self.path) as dataset:
                self._meta.update(
                    shape=(dataset.height, dataset.width),
                    transform=dataset.transform,
                    dtype=np.dtype(dataset.dtypes[self.band - 1]),
                    nodata=dataset.nodatavals[self.band - 1],
                    crs=CRS.from_user_input(dataset.crs) if dataset.crs else None,
                )
        return self._meta

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        rows, columns = self._read_meta()["shape"]
        return int(rows), int(columns)

    @property
    def transform(self) -> Affine:
        """From (column, row) to (x, y) [m]."""
        found: Affine = self.transform_m or self._read_meta()["transform"]
        return found

    @property
    def dtype(self) -> np.dtype[Any]:
        """Type of the values that ``read`` returns."""
        found: np.dtype[Any] = self._read_meta()["dtype"]
        return found

    @property
    def crs(self) -> CRS | None:
        """The working CRS."""
        found: CRS | None = self.working_crs or self._read_meta()["crs"]
        return found

    def read(self, window: Window | None = None) -> NDArray[Any]:
        """Values of a window; in a float band, NaN where the file says there is no value."""
        shape = self.shape
        whole = window or Window(0, 0, *shape)
        with rasterio.open(self.path) as dataset:
            box = RasterioWindow(whole.column, whole.row, whole.columns, whole.rows)
            values: NDArray[Any] = dataset.read(self.band, window=box)
            if np.issubdtype(values.dtype, np.floating):
                mask = dataset.read_masks(self.band, window=box)
                values[(mask == 0) | ~np.isfinite(values)] = np.nan
        return values


@dataclass
class GeoTiffSink:
    """A tiled GeoTIFF to write to, window by window, from one thread; as a context it closes itself.

    The cells are written aside, to a file ending in ``.part``; ``close`` gives it its name, so that a raster under its
    final name is whole. Leaving the context by an exception removes it.

    Parameters
    ----------
    path, shape, transform, dtype, crs, nodata
        The raster.
    cloud_optimized
        Lay the file out as a cloud-optimized GeoTIFF, with overviews, when it is closed; this needs as much room on
        the disk again. Classes and counts keep the nearest cell in overviews, floats their mean.
    """

    path: Path
    shape: tuple[int, int]
    transform: Affine
    dtype: str
    crs: CRS | None = None
    nodata: float | None = None
    cloud_optimized: bool = False
    _dataset: Any = field(default=None, repr=False)

    def _aside(self, ending: str = "part") -> Path:
        return self.path.with_name(f"{self.path.name}.{ending}")

    def write(self, window: Window, values: NDArray[Any]) -> None:
        """Write the values of a window."""
        if self._dataset is None:
            self._dataset = rasterio.open(
                self._aside(),
                "w",
                driver="GTiff",
                height=self.shape[0],
                width=self.shape[1],
                count=1,
                dtype=self.dtype,
                crs=self.crs.to_wkt() if self.crs else None,
                transform=self.transform,
                nodata=self.nodata,
                tiled=True,
                blockxsize=512,
                blockysize=512,
                compress="zstd",
                zstd_level=1,
                bigtiff="IF_SAFER",
            )
        self._dataset.write(values, 1, window=RasterioWindow(window.column, window.row, window.columns, window.rows))

    def close(self) -> None:
        """Finish the file and give it its name; nothing when nothing was written."""
        if self._dataset is None:
            return
        self._dataset.close()
        self._dataset = None
        if self.cloud_optimized:
            mean = np.issubdtype(np.dtype(self.dtype), np.floating)
            rasterio.shutil.copy(
                self._aside(),
                self._aside("cog"),
                driver="COG",
                compress="zstd",
                level=1,
                overview_resampling="average" if mean else "nearest",
                bigtiff="IF_SAFER",
            )
            os.replace(self._aside("cog"), self._aside())
        os.replace(self._aside(), self.path)

    def discard(self) -> None:
        """Remove what was written so far."""
        if self._dataset is not None:
            self._dataset.close()
            self._dataset = None
        self._aside().unlink(missing_ok=True)
        self._aside("cog").unlink(missing_ok=True)

    def __enter__(self) -> GeoTiffSink:
        """Write to it."""
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        """Close it, or remove what was written when an exception goes through."""
        if kind is None:
            self.close()
        else:
            self.discard()


def rasterized(shapes: Any, **how: Any) -> Any:
    """``rasterio.features.rasterize`` by one thread at a time.

    It mutes a warning meanwhile, for the whole process: of two threads at once each would unmute the other's.
    """
    with _ALONE:
        return rasterio.features.rasterize(shapes, **how)
