"""A lot's own lines: which face a street, how far a garden keeps from each, and the parts too narrow to count."""

from __future__ import annotations

from typing import Any, Final

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from screening.area import AreaContext, Block
from screening.siting.lot_lines import lot_lines
from screening.siting.setback_rows import no_rows, setback_rows

__all__ = ["narrow_parts", "side_lines", "street_lines"]

_MITRE: Final = 10.0
"""Corners reach out no farther than this many times the distance that lines were moved by."""


def side_lines(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Side and rear lot lines, each for its own lot."""
    return _lines(block, context, street=False)


def street_lines(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Street lines, each for its own lot."""
    return _lines(block, context, street=True)


def narrow_parts(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Parts of lots too narrow to be ground for a garden: the pole of a flag lot, a strip kept for access.

    A lot that is narrow all over keeps its ground.
    """
    half = context.rules.narrow_part_m / 2.0
    lots = block.lots.geometry.to_numpy()
    if half == 0 or not len(lots):
        return no_rows(context)
    doubtful = np.flatnonzero(~_wide_all_over(lots, half))
    lots = lots[doubtful]
    core = shapely.buffer(lots, -half, join_style="mitre", mitre_limit=_MITRE)
    wide = shapely.buffer(core, half * (1 + 1e-6), join_style="mitre", mitre_limit=_MITRE)
    some = np.flatnonzero(~shapely.is_empty(core) & (shapely.area(lots) - shapely.area(wide) > half * half))
    parts, index = shapely.get_parts(shapely.difference(lots[some], wide[some]), return_index=True)
    large = shapely.area(parts) > half * half
    return setback_rows(context, parts[large], 0.0, lot=doubtful[some[index[large]]])


def _wide_all_over(lots: NDArray[Any], half_m: float) -> NDArray[np.bool_]:
    """Lots that are surely wide all over: convex, with edges that are all left when they move in by so much.

    Moving in takes from an edge, at either end, that times the tangent of half the turn there. Such a lot moved in and
    out again is what it was.
    """
    plain: NDArray[np.bool_] = (shapely.get_type_id(lots) == 3) & ~shapely.is_empty(lots)
    plain &= shapely.get_num_interior_rings(lots) == 0
    if not plain.any():
        return plain
    corners = shapely.get_num_coordinates(lots[plain]) - 1  # the last is the first again
    end = np.cumsum(corners + 1)
    xy = np.delete(shapely.get_coordinates(lots[plain]), end - 1, axis=0)
    first, last = np.cumsum(corners) - corners, np.cumsum(corners) - 1
    onward, back = np.arange(len(xy)) + 1, np.arange(len(xy)) - 1
    onward[last], back[first] = first, last
    way = xy[onward] - xy
    length = np.hypot(*way.T)
    across = way[:, 0] * way[onward, 1] - way[:, 1] * way[onward, 0]
    along = (way * way[onward]).sum(axis=1) + length * length[onward]
    with np.errstate(divide="ignore", invalid="ignore"):
        tangent = np.abs(across) / along
    left = length - half_m * (tangent + tangent[back])
    convex = (np.minimum.reduceat(across, first) >= 0) | (np.maximum.reduceat(across, first) <= 0)
    sharp = np.maximum.reduceat(tangent, first) > np.sqrt(_MITRE**2 - 1)
    plain[plain] = convex & ~sharp & (np.minimum.reduceat(left, first) > 0)
    return plain


def _lines(block: Block, context: AreaContext, *, street: bool) -> gpd.GeoDataFrame:
    rules = context.rules
    lines = lot_lines(block)
    kept = (lines.street >= 0) == street
    order = np.argsort(lines.lot[kept], kind="stable")
    pieces = np.asarray(shapely.linestrings(np.stack([lines.start[kept], lines.end[kept]], axis=1)[order]))
    owners, first = np.unique(lines.lot[kept][order], return_inverse=True)
    if not len(owners):
        return no_rows(context)
    together = shapely.multilinestrings(pieces, indices=first)
    clearance = rules.street_line_setback_m if street else rules.side_line_setback_m
    return setback_rows(context, together, clearance, lot=owners)
