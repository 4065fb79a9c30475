"""Put aligned tiles together into one raster, and look for steps along their edges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
from affine import Affine
from numpy.typing import NDArray

from screening.inputs.findings import Findings
from screening.inputs.raster_file import RasterFile

__all__ = ["mosaic", "seam_step"]

_OFF_LATTICE: Final = 0.01
"""Cells that a tile's corner may lie off the lattice of the first tile."""

_STEP_TIMES: Final = 5.0
"""A step along a seam is told when the difference across it is this many times the one beside it..."""
_STEP_LEAST: Final = 0.15
"""... and at least this many vertical units."""


def mosaic(tiles: Sequence[RasterFile], findings: Findings, *, layer: str) -> RasterFile | None:
    """One raster from tiles on one lattice of cells.

    Where tiles overlap, the first that has a height gives it. Faults: another CRS, unit or cell size, a corner off the
    lattice.

    Parameters
    ----------
    tiles
        North-up tiles, in the order that decides overlaps.
    findings
        Where faults and cautions go.
    layer
        ``elevation`` or ``surface``.
    """
    first = tiles[0]
    if len(tiles) == 1:
        return first
    fits = [_fits(first, tile, findings, layer) for tile in tiles[1:]]
    if not all(fits):
        return None
    corners = [~first.transform @ (tile.transform.c, tile.transform.f) for tile in tiles]
    places = [(round(row), round(column)) for column, row in corners]
    top, left = min(row for row, _ in places), min(column for _, column in places)
    bottom = max(row + tile.values.shape[0] for (row, _), tile in zip(places, tiles, strict=True))
    right = max(column + tile.values.shape[1] for (_, column), tile in zip(places, tiles, strict=True))
    dtype = np.result_type(*[tile.values.dtype for tile in tiles])
    values = np.full((bottom - top, right - left), np.nan, dtype=dtype)
    for (row, column), tile in zip(places, tiles, strict=True):
        rows, columns = tile.values.shape
        window = values[row - top : row - top + rows, column - left : column - left + columns]
        empty = np.isnan(window)
        window[empty] = tile.values[empty]
    whole = replace(
        first,
        name=f"{len(tiles)} tiles",
        values=values,
        transform=first.transform @ Affine.translation(left, top),
        files=tuple(dict.fromkeys(file for tile in tiles for file in tile.files)),
    )
    _tell_seams(whole, [(row - top, column - left) for row, column in places], findings, layer)
    return whole


def _fits(first: RasterFile, tile: RasterFile, findings: Findings, layer: str) -> bool:
    """Whether a tile lies on the lattice of the first, in its CRS and unit."""
    mend = "Resample the tiles to one grid, or build one raster of them, and name that"
    whole = len(findings.faults)
    if any(one.transform.b or one.transform.d for one in (first, tile)):
        findings.fault("Rotated tiles cannot be put together", mend, file=tile.name, layer=layer)
        return False
    if tile.crs != first.crs:
        findings.fault(f"The tile's CRS is not that of {first.name}", mend, file=tile.name, layer=layer)
    if tile.unit != first.unit:
        said = f"{tile.unit or 'no unit'!r}, {first.name} says {first.unit or 'no unit'!r}"
        findings.fault(f"The tile says {said}", "Bring the tiles to one vertical unit", file=tile.name, layer=layer)
    sizes = np.array([tile.transform.a, tile.transform.e]) / np.array([first.transform.a, first.transform.e])
    column, row = ~first.transform @ (tile.transform.c, tile.transform.f)
    span = max(tile.values.shape)
    if np.any(np.abs(sizes - 1) * span > _OFF_LATTICE):
        findings.fault(f"The tile's cells are not as large as those of {first.name}", mend, file=tile.name, layer=layer)
    elif max(abs(column - round(column)), abs(row - round(row))) > _OFF_LATTICE:
        findings.fault(f"The tile's cells do not line up with those of {first.name}", mend, file=tile.name, layer=layer)
    return len(findings.faults) == whole


def seam_step(values: NDArray[Any], column: int) -> tuple[float, float]:
    """Median height difference across the edge before a column, and beside that edge.

    Parameters
    ----------
    values
        Heights, shape (rows, columns), NaN where missing.
    column
        The first column after the edge, 2 to columns - 2.

    Returns
    -------
    tuple of float
        Median of the absolute differences across the edge; mean of the two medians one column to either side.
    """
    around = np.abs(np.diff(values[:, column - 2 : column + 2], axis=1))
    if not np.isfinite(around).all(axis=1).any():
        return 0.0, 0.0
    left, across, right = np.nanmedian(around[np.isfinite(around).all(axis=1)], axis=0)
    return float(across), float((left + right) / 2)


def _tell_seams(whole: RasterFile, places: Sequence[tuple[int, int]], findings: Findings, layer: str) -> None:
    """Tell of steps along the tiles' edges."""
    for values, edges, words in (
        (whole.values, {column for _, column in places}, "column"),
        (whole.values.T, {row for row, _ in places}, "row"),
    ):
        for edge in sorted(edges):
            if not 2 <= edge <= values.shape[1] - 2:
                continue
            across, beside = seam_step(values, edge)
            if across > _STEP_LEAST and across > _STEP_TIMES * beside:
                findings.note(
                    "caution",
                    f"The heights step by {across:.2f} (vertical units) along the tile edge at {words} {edge}; beside "
                    f"it by {beside:.2f}. Water may be led astray there.",
                    layer,
                )
