"""Tree crowns that a surface raster shows."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage

from screening.area import Block
from screening.rules import Rules
from screening.siting.burning import burn
from screening.siting.outlines import outlines

__all__ = ["surface_crowns"]

_OFF_ROOFS_M: Final = 1.5
"""Roofs reach so far beyond their footprints in a surface raster: errors of place, and the width of a cell."""

_LEAST_M2: Final = 7.0
"""A crown smaller than this is a shrub, a mast or a van: a circle of 1.5 m radius."""


def surface_crowns(block: Block, rules: Rules) -> NDArray[Any]:
    """Outline what stands higher than the rule above the ground, off the roofs, large enough to be a tree.

    A crown that holds a tree of the tree layer is left out: that tree says what it needs itself.

    Parameters
    ----------
    block
        The block; without a surface raster nothing is seen.
    rules
        For the least height.

    Returns
    -------
    numpy.ndarray
        Polygons.
    """
    if block.surface is None:
        return np.array([], dtype=object)
    with np.errstate(invalid="ignore"):
        high = block.surface - block.rasters["heights_m"] >= rules.tree_height_least_m
    roofs = block.layers.get("roofs")
    if roofs is not None and len(roofs):
        near = np.zeros(block.shape, dtype=np.uint32)
        burn(roofs.geometry.to_numpy(), 1, block.transform, near, reach_m=_OFF_ROOFS_M)
        high &= near == 0
    labels, count = ndimage.label(high)
    area = np.bincount(labels.ravel(), minlength=count + 1) * (block.cell_x_m * block.cell_y_m)
    large = area >= _LEAST_M2
    large[0] = False
    crowns, _ = outlines(large[labels].astype(np.int32), block.transform)
    trees = block.layers.get("trees")
    if trees is None or not len(trees) or not len(crowns):
        return crowns
    known, _ = shapely.STRtree(trees.geometry.to_numpy()).query(crowns, predicate="intersects")
    return np.delete(crowns, np.unique(known))
