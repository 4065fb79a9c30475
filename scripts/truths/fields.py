"""Smooth random surfaces on a raster, by smoothing white noise."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage, special

__all__ = ["gaussian_field", "uniform_field"]

Floats = NDArray[np.float64]


def gaussian_field(shape: tuple[int, int], range_cells: float, random: np.random.Generator) -> Floats:
    """Normal field of variance 1 with correlation exp(-d2 / (2 range2)).

    White noise smoothed by a Gaussian of sigma k has correlation exp(-d2 / (4 k2)) and, before it is scaled, standard
    deviation 1 / (2 k sqrt(pi)): analytic. Drawn coarse where the range is long, and on a wider sheet, so that no edge
    shows.
    """
    step = max(int(range_cells // 8), 1)
    sigma = range_cells / np.sqrt(2.0) / step
    pad = int(np.ceil(4.0 * sigma))
    rows, columns = (int(np.ceil(n / step)) + 2 + 2 * pad for n in shape)
    smooth = ndimage.gaussian_filter(random.standard_normal((rows, columns)), sigma, truncate=5.0)
    smooth = smooth[pad:-pad, pad:-pad] * (2.0 * sigma * np.sqrt(np.pi))
    if step > 1:
        smooth = ndimage.zoom(smooth, step, order=3, grid_mode=True, mode="nearest")
    return np.asarray(smooth[: shape[0], : shape[1]])


def uniform_field(shape: tuple[int, int], range_cells: float, random: np.random.Generator) -> Floats:
    """Smooth field whose values are uniform from -1 to 1."""
    return np.asarray(2.0 * special.ndtr(gaussian_field(shape, range_cells, random)) - 1.0)
