"""Where the water of every cell goes: the first label it meets, the cell where it ends, the path between."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from screening.terrain.codes import NO_FLOW, linear_steps
from screening.terrain.kernels.fate import start_accumulation, trace_fates, trace_path
from screening.terrain.kernels.finish import accumulate

__all__ = ["Fate", "catchments", "fate", "flow_accumulation", "flow_path"]


@dataclass(frozen=True, eq=False)
class Fate:
    """What happens downstream of every cell.

    Parameters
    ----------
    label
        First label met going downstream, int32, 0 where none is met.
    end
        Linear index (row x columns + column) of the cell where the water ends, int64, -1 where no water runs.
    """

    label: NDArray[np.int32]
    end: NDArray[np.int64]


def fate(direction: NDArray[np.uint8], labels: NDArray[np.int32], *, include_self: bool = False) -> Fate:
    """Find for every cell the first label downstream and the cell where its water ends, in one pass.

    Parameters
    ----------
    direction
        D8 codes, uint8, shape (rows, columns).
    labels
        Labels, int32, same shape; 0 is no label.
    include_self
        Whether a cell's own label counts as met.

    Raises
    ------
    ValueError
        When shapes differ, a code is none of the eight, points off the raster or to a cell without flow, or the
        directions run in a circle.
    """
    _check_directions(direction)
    if labels.shape != direction.shape:
        raise ValueError(f"labels must have the shape of direction {direction.shape}, got {labels.shape}")
    size = direction.size
    label = np.zeros(size, np.int32)
    end = np.full(size, -2, np.int64)
    flat = np.ascontiguousarray(direction).reshape(-1)
    given = np.ascontiguousarray(labels, dtype=np.int32).reshape(-1)
    trail = np.empty(size, np.int64)
    if not trace_fates(flat, given, linear_steps(direction.shape[1]), include_self, label, end, trail):
        raise ValueError("directions run in a circle")
    return Fate(label.reshape(direction.shape), end.reshape(direction.shape))


def flow_path(direction: NDArray[np.uint8], row: int, column: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Rows and columns of the cells that water crosses from a cell to where it ends, both included."""
    rows, columns = direction.shape
    if not (0 <= row < rows and 0 <= column < columns):
        raise ValueError(f"row and column must lie in a raster of {rows} x {columns}, got {row}, {column}")
    path = np.empty(direction.size, np.int64)
    flat = np.ascontiguousarray(direction).reshape(-1)
    count = trace_path(flat, linear_steps(columns), row * columns + column, path)
    if count < 0:
        raise ValueError("directions run in a circle")
    return path[:count] // columns, path[:count] % columns


def flow_accumulation(direction: NDArray[np.uint8], weights: NDArray[np.integer] | None = None) -> NDArray[np.int64]:
    """Add up what drains through each cell along given directions, the cell itself counted.

    Parameters
    ----------
    direction
        D8 codes, uint8, shape (rows, columns).
    weights
        What each cell adds, whole numbers below 2 to the 59 in all, so that no order of adding changes the sum; when
        None 1, and 0 where there is no flow.

    Raises
    ------
    ValueError
        As for `fate`.
    """
    _check_directions(direction)
    given = np.not_equal(direction, NO_FLOW).astype(np.int64) if weights is None else np.asarray(weights)
    if given.shape != direction.shape or not np.issubdtype(given.dtype, np.integer):
        raise ValueError(f"weights must be integers of shape {direction.shape}, got {given.dtype} {given.shape}")
    size = direction.size
    onward, flow, queue = np.empty(size, np.int64), np.empty(size + 1, np.int64), np.empty(size + 1, np.int64)
    codes, added = np.ascontiguousarray(direction).reshape(-1), np.ascontiguousarray(given, np.int64).reshape(-1)
    start_accumulation(codes, linear_steps(direction.shape[1]), added, onward, flow)
    if accumulate(onward, flow, queue) < size:
        raise ValueError("directions run in a circle")
    total: NDArray[np.int64] = flow[:size] >> 4
    return total.reshape(direction.shape)


def catchments(direction: NDArray[np.uint8], rows: NDArray[np.int64], columns: NDArray[np.int64]) -> NDArray[np.int32]:
    """Number every cell by the outlet that its water meets first: 1 for the first given, 0 for none.

    Parameters
    ----------
    direction
        D8 codes, uint8, shape (rows, columns).
    rows, columns
        The outlets' cells; of two in one cell the first counts.
    """
    labels = np.zeros(direction.shape, np.int32)
    count = np.size(rows)
    labels[np.asarray(rows)[::-1], np.asarray(columns)[::-1]] = np.arange(count, 0, -1, dtype=np.int32)
    return fate(direction, labels, include_self=True).label


def _check_directions(direction: NDArray[np.uint8]) -> None:
    """Refuse codes that are no direction or lead off the raster."""
    if direction.ndim != 2 or direction.dtype != np.uint8:
        raise ValueError(f"direction must be 2-D uint8, got {direction.ndim}-D {direction.dtype}")
    counts = np.bincount(direction.reshape(-1), minlength=256)
    counts[[0, NO_FLOW, *(1 << np.arange(8))]] = 0
    if counts.any():
        raise ValueError(f"{int(np.flatnonzero(counts)[0])} is not a direction code")
    for edge, codes in (
        (direction[0], (32, 64, 128)),
        (direction[-1], (2, 4, 8)),
        (direction[:, 0], (8, 16, 32)),
        (direction[:, -1], (1, 2, 128)),
    ):
        if np.isin(edge, codes).any():
            raise ValueError("a direction leads off the raster; cells where water leaves have code 0")
