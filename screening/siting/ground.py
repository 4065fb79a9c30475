"""The ground half of siting: what every lot's ground is like and where a garden may be dug."""

from __future__ import annotations

from screening.area import AreaContext, Block, Tables
from screening.siting.drain_reach import drain_reach, lot_reach
from screening.siting.frontage import frontage
from screening.siting.ground_mask import GroundMask
from screening.siting.lot_ground import lot_ground
from screening.siting.lot_inlets import lot_inlets
from screening.siting.open_ground import ground_mask, open_ground

__all__ = ["ground"]


def ground(block: Block, context: AreaContext) -> tuple[GroundMask, Tables]:
    """Read the ground of a block's lots, once, before the search.

    Parameters
    ----------
    block
        The block, with ``roof_pieces`` and ``downspouts`` among its tables.
    context
        The rules.

    Returns
    -------
    mask
        Which lot each mask cell belongs to, and what forbids digging there.
    tables
        ``open_ground``, ``taken``, ``downspouts`` (with the ground at their feet and their drain reach) and
        ``lot_ground`` (``lot_id``, ``street`` and the ground's columns of the lots table).
    """
    mask = ground_mask(block, context)
    downspouts = drain_reach(block, context)
    lots = lot_ground(block, mask)
    lots["street"] = frontage(block).street
    lots["inlet"] = lot_inlets(block, context, downspouts)
    reach = lot_reach(block, downspouts)
    for column in reach.columns:
        lots[column] = reach[column]
    return mask, {**open_ground(block, mask), "downspouts": downspouts, "lot_ground": lots}
