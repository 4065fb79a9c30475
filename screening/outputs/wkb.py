"""Geometries as well-known binary, many at a time.

The layout is that of the Simple Features standard (OGC 06-103r4, clause 8.2): byte order, type and number of parts
before each geometry, the number of points before each path, then x and y of each point.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from screening.outputs.written_shapes import Paths, Thinning, of_one_type, paths_of

__all__ = ["encoded", "encoded_points", "wkb_column"]

_AT_ONCE: Final = 2_000
"""Geometries encoded at a time, so that their points stay in the processor's cache."""
_HEAD: Final = np.dtype([("little_endian", "u1"), ("type", "<u4"), ("parts", "<u4")])
_POINT: Final = np.dtype([("little_endian", "u1"), ("type", "<u4"), ("xy", "<f8", 2)])
_POINT_BYTES: Final = 16
_TYPES: Final[dict[str, tuple[int, ...]]] = {"MultiLineString": (2, 5), "MultiPolygon": (0, 3, 6)}
"""Type of each level, from paths outward; rings are no geometries of their own, and tell no type."""


def _heads(kind: int, parts: NDArray[np.int64]) -> NDArray[Any]:
    """What stands before each item of a level."""
    if kind == 0:
        return parts.astype("<u4")
    heads = np.empty(parts.size, dtype=_HEAD)
    heads["little_endian"], heads["type"], heads["parts"] = 1, kind, parts
    return heads


def _put(data: NDArray[np.uint8], at: NDArray[np.int64], records: NDArray[Any]) -> None:
    """Put records into bytes, each at a place of its own, aligned or not."""
    size = records.dtype.itemsize
    if at.size:
        places = np.ndarray((data.size - size + 1,), dtype=f"V{size}", buffer=data, strides=(1,))
        places[at] = records.view(f"V{size}").reshape(-1)


def encoded(paths: Paths, geometry_type: str) -> tuple[NDArray[np.uint8], NDArray[np.int64]]:
    """Encode lines or areas.

    Parameters
    ----------
    paths
        Their points.
    geometry_type
        ``MultiLineString`` or ``MultiPolygon``.

    Returns
    -------
    data
        The bytes of all, one after another.
    ends
        Where each begins, and the last ends, shape (geometries + 1,).
    """
    kinds = _TYPES[geometry_type]
    sizes = [4 if kind == 0 else _HEAD.itemsize for kind in kinds]
    before = [_POINT_BYTES * np.arange(len(paths.points) + 1)]
    for size, ends in zip(sizes, paths.ends, strict=True):
        before.append(before[-1][ends] + size * np.arange(ends.size))
    data = np.empty(int(before[-1][-1]), dtype=np.uint8)
    outer = np.zeros(paths.ends[-1].size - 1, dtype=np.int64)
    for level in reversed(range(len(kinds))):
        parts = np.diff(paths.ends[level])
        _put(data, before[level + 1][:-1] + outer, _heads(kinds[level], parts))
        outer = np.repeat(outer + sizes[level] * np.arange(1, parts.size + 1), parts)
    points = np.ascontiguousarray(paths.points, dtype="<f8")
    _put(data, before[0][:-1] + outer, points.view(f"V{_POINT_BYTES}"))
    return data, before[-1]


def encoded_points(points: NDArray[np.float64]) -> tuple[NDArray[np.uint8], NDArray[np.int64]]:
    """Encode points, shape (n, 2), as ``encoded`` does lines and areas."""
    records = np.empty(len(points), dtype=_POINT)
    records["little_endian"], records["type"], records["xy"] = 1, 1, points
    return records.view(np.uint8), _POINT.itemsize * np.arange(len(points) + 1)


def _column(there: NDArray[np.bool_], data: NDArray[np.uint8], ends: NDArray[np.int64]) -> pa.Array:
    """Bytes of the geometries that are there, as a column that has them all."""
    sizes = np.zeros(there.size, dtype=np.int64)
    sizes[there] = np.diff(ends)
    offsets = np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64)
    known = pa.array(there).buffers()[1]
    return pa.Array.from_buffers(pa.large_binary(), there.size, [known, pa.py_buffer(offsets), pa.py_buffer(data)])


def wkb_column(
    shapes: NDArray[Any], geometry_type: str, unit_m: float = 1.0, thinning: Thinning | None = None
) -> pa.ChunkedArray:
    """Encode geometries as a file of one geometry type takes them.

    Parameters
    ----------
    shapes
        Geometries of any type, working CRS, shape (n,); missing where there is none. [m]
    geometry_type
        ``Point``, ``MultiLineString`` or ``MultiPolygon``: what they are turned into, as ``of_one_type`` does.
    unit_m
        Metres in a unit of the coordinates written.
    thinning
        Which points of lines or areas to keep; all of them when None.

    Returns
    -------
    pyarrow.ChunkedArray
        Well-known binary, n rows, null where there is nothing of that type.
    """
    chunks = []
    for start in range(0, len(shapes), _AT_ONCE):
        there, paths = paths_of(of_one_type(shapes[start : start + _AT_ONCE], geometry_type), geometry_type)
        if thinning is not None:
            paths = paths.kept(thinning(paths))
        points = paths.points if unit_m == 1.0 else paths.points / unit_m
        written = Paths(points, paths.ends)
        data, ends = encoded_points(points) if geometry_type == "Point" else encoded(written, geometry_type)
        chunks.append(_column(there, data, ends))
    return pa.chunked_array(chunks, type=pa.large_binary())
