"""Whether cells and heights are fine enough to see a lot by."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from screening.grid import Grid
from screening.inputs.findings import Findings

__all__ = ["height_step", "tell_resolution"]

_GOOD_CELL_M: Final = 3.5
"""Cells larger than this leave little of a garden to see [m]."""
_LARGEST_CELL_M: Final = 12.0
"""Cells larger than this are larger than any garden with what lies around it [m]."""
_STEPS: Final = (1.0, 0.5)
"""Steps that heights are looked for in, in their own unit."""
_LOOKED_AT: Final = 1_000_000
"""Cells looked at, about, where there are more."""


def tell_resolution(grid: Grid, layer: str, findings: Findings) -> None:
    """Refuse cells that are larger than a garden; caution where cells are large, or heights rounded.

    Parameters
    ----------
    grid
        The elevation in the working CRS.
    layer, findings
        Whose it is, and where faults and notes go.
    """
    cell_m = math.sqrt(grid.cell_x_m * grid.cell_y_m)
    if cell_m > _LARGEST_CELL_M:
        findings.fault(
            f"Cells of {cell_m:.3g} m are larger than a garden: no place on a lot can be told by them",
            "Give elevation in cells of 1 to 3 m, as from lidar; of 10 m at most",
            layer=layer,
        )
    elif cell_m > _GOOD_CELL_M:
        findings.note(
            "caution",
            f"Cells of {cell_m:.3g} m are about as large as a garden: slope, fall and room are rough here. Elevation "
            "in cells of 1 to 3 m, as from lidar, tells much more.",
            layer,
        )
    step = height_step(grid)
    if step:
        error_m = step * grid.height_factor / math.sqrt(12.0)
        findings.note(
            "caution",
            f"Heights come in steps of {step * grid.height_factor:.2g} m: less than that of fall or slope cannot be "
            f"told, and ground looks steep where a step is. Take heights with decimals, or set elevation_error_m to "
            f"{error_m:.2f} or more.",
            layer,
        )


def height_step(grid: Grid) -> float:
    """Step that all heights are multiples of, in their own unit: 1, 0.5 or, where neither, 0."""
    some = grid.values.ravel()[:: max(1, grid.values.size // _LOOKED_AT)]
    heights = some[np.isfinite(some)].astype(np.float64)
    if not heights.size or heights.min() == heights.max():
        return 0.0
    for step in _STEPS:
        if np.all(heights / step == np.rint(heights / step)):
            return step
    return 0.0
