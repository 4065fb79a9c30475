"""Lines and areas as well-known binary, all at once: from their points, without an object for each."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pyarrow as pa
import shapely
from numpy.typing import NDArray

from screening.outputs.written_shapes import Paths, Thinning, of_one_type, written_paths

__all__ = ["as_binary", "binary_of"]

_KINDS: Final[dict[str, tuple[int, ...]]] = {"MultiLineString": (2, 5), "MultiPolygon": (0, 3, 6)}
"""Numbers of the kinds by level, the lowest first; a ring has none, but for the count of its points."""
_COUNT: Final = np.dtype([("count", "<u4")])
_HEAD: Final = np.dtype([("order", "u1"), ("kind", "<u4"), ("count", "<u4")])
_LITTLE_ENDIAN: Final = 1
_POINT_BYTES: Final = 16
_AT_ONCE: Final = 2048
"""Geometries worked on at a time: what is in between stays in the processor's cache."""


def as_binary(shapes: Any, geometry_type: str, unit_m: float = 1.0, thinning: Thinning | None = None) -> pa.Array:
    """Geometries as ``written_shapes.as_written`` gives them, in well-known binary; null where there is nothing.

    Parameters
    ----------
    shapes, geometry_type, unit_m, thinning
        As ``as_written`` has them.
    """
    array = of_one_type(shapes, geometry_type)
    if geometry_type == "Point":
        placed = array if unit_m == 1.0 else shapely.transform(array, lambda points: points / unit_m)
        return pa.array(shapely.to_wkb(placed), pa.large_binary())
    parts = [array[first : first + _AT_ONCE] for first in range(0, array.size, _AT_ONCE)] or [array]
    return pa.concat_arrays([_binary_of_some(part, geometry_type, unit_m, thinning) for part in parts])


def _binary_of_some(
    shapes: NDArray[Any], geometry_type: str, unit_m: float, thinning: Thinning | None
) -> pa.LargeBinaryArray:
    """Lines or areas, as ``of_one_type`` gives them, in well-known binary."""
    there, paths = written_paths(shapes, geometry_type, unit_m, thinning)
    data, sizes = binary_of(paths, _KINDS[geometry_type])
    ends = np.zeros(there.size + 1, dtype=np.int64)
    ends[1:][there] = sizes
    known = None if there.all() else pa.py_buffer(np.packbits(there, bitorder="little"))
    buffers = [known, pa.py_buffer(np.cumsum(ends)), pa.py_buffer(data)]
    return pa.LargeBinaryArray.from_buffers(pa.large_binary(), there.size, buffers)


def binary_of(paths: Paths, kinds: tuple[int, ...]) -> tuple[NDArray[np.uint8], NDArray[np.int64]]:
    """Bytes of many geometries, one after another, and how many each takes.

    Parameters
    ----------
    paths
        Their points.
    kinds
        Number of the kind of each level of ``paths.ends``; 0 where nothing but a count stands before its items.
    """
    heads = [_heads(np.diff(ends), kind) for ends, kind in zip(paths.ends, kinds, strict=True)]
    upto = [np.arange(len(paths.points) + 1) * _POINT_BYTES]
    for head, ends in zip(heads, paths.ends, strict=True):
        upto.append(np.concatenate([[0], np.cumsum(head.shape[1] + np.diff(upto[-1][ends]))]))
    start, sizes = upto[-1][:-1], np.diff(upto[-1])
    data, points = np.empty(upto[-1][-1], dtype=np.uint8), np.ones(upto[-1][-1], dtype=bool)
    for level in reversed(range(len(heads))):
        at = start[:, None] + np.arange(heads[level].shape[1])
        data[at], points[at] = heads[level], False
        # items of the level below stand as among themselves, but for the heads before them
        ends, below = paths.ends[level], upto[level]
        start = below[:-1] + np.repeat(start + heads[level].shape[1] - below[ends[:-1]], np.diff(ends))
    data[points] = np.ascontiguousarray(paths.points, dtype="<f8").view(np.uint8).ravel()
    return data, sizes


def _heads(counts: NDArray[np.int64], kind: int) -> NDArray[np.uint8]:
    """What stands before the items of each of some geometries, shape (geometries, bytes)."""
    heads = np.empty(counts.size, dtype=_HEAD if kind else _COUNT)
    heads["count"] = counts
    if kind:
        heads["order"], heads["kind"] = _LITTLE_ENDIAN, kind
    return heads.view(np.uint8).reshape(counts.size, heads.itemsize)
