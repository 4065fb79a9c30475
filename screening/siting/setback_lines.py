"""A lot's own lines: which face a street, how far a garden keeps from each, and the parts too narrow to count."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import shapely

from screening.area import AreaContext, Block
from screening.siting.lot_lines import lot_lines
from screening.siting.setback_rows import no_rows, setback_rows

__all__ = ["narrow_parts", "side_lines", "street_lines"]


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
    core = shapely.buffer(lots, -half, join_style="mitre", mitre_limit=10.0)
    wide = shapely.buffer(core, half * (1 + 1e-6), join_style="mitre", mitre_limit=10.0)
    some = np.flatnonzero(~shapely.is_empty(core) & (shapely.area(lots) - shapely.area(wide) > half * half))
    parts, index = shapely.get_parts(shapely.difference(lots[some], wide[some]), return_index=True)
    large = shapely.area(parts) > half * half
    return setback_rows(context, parts[large], 0.0, lot=some[index[large]])


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
