"""Which inlet the water of each lot ends in."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.area import AreaContext, Block
from screening.siting.lot_cells import lot_positions

__all__ = ["lot_inlets"]


def lot_inlets(block: Block, context: AreaContext, downspouts: Any) -> NDArray[np.object_]:
    """Inlet that most of each lot's roof water ends in; most of its ground's, where it has no roof share.

    Parameters
    ----------
    block, context
        The block with ``inlet`` among its rasters, and the inlets' ids.
    downspouts
        ``lot_id``, ``share_m2`` and ``inlet`` of each.

    Returns
    -------
    numpy.ndarray
        Ids, None where the most water meets no inlet, one entry a lot in the block's order.
    """
    lots = block.lots["lot_id"].astype("object")
    out = np.full(len(lots), None, dtype=object)
    if not context.inlet_ids:
        return out
    share = downspouts["share_m2"].to_numpy(dtype=np.float64)
    led = share > 0
    roof = _most(
        downspouts["lot_id"].astype("object").to_numpy()[led], downspouts["inlet"].to_numpy(object)[led], share[led]
    )
    out[:] = [roof.get(lot) for lot in lots]
    bare = np.flatnonzero([lot not in roof for lot in lots])
    if len(bare):
        position = lot_positions(block)
        cells = np.isin(position, bare)
        number = np.array([None, *context.inlet_ids], dtype=object)[block.rasters["inlet"][cells]]
        ground = _most(position[cells], number, np.ones(int(cells.sum())))
        out[bare] = [ground.get(lot) for lot in bare]
    return out


def _most(owner: NDArray[Any], inlet: NDArray[np.object_], amount: NDArray[np.float64]) -> dict[Any, str | None]:
    """The inlet with the most of each owner's amounts, of equals the first by its id; none is one of them."""
    table = pd.DataFrame({"owner": owner, "inlet": pd.Series(inlet, dtype=object), "amount": amount})
    total = table.groupby(["owner", "inlet"], dropna=False, sort=True)["amount"].sum().reset_index()
    first = total.sort_values(["amount"], ascending=False, kind="stable").drop_duplicates("owner")
    named = first["inlet"].astype(object).where(first["inlet"].notna(), None)
    return dict(zip(first["owner"], named, strict=True))
