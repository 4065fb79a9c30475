"""Which lot each elevation cell of a block belongs to, read once a block."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.area import Block
from screening.siting.burning import burn

__all__ = ["lot_numbers", "lot_positions", "own_positions"]


def lot_numbers(block: Block) -> NDArray[np.int32]:
    """Number (from 1) in ``layers["lots"]`` of the first lot that holds each cell's centre; 0 where there is none."""
    return block.once(lot_numbers, lambda: _lot_numbers(block))


def _lot_numbers(block: Block) -> NDArray[np.int32]:
    out = np.zeros(block.shape, dtype=np.uint32)
    shapes = block.layers["lots"].geometry.to_numpy()
    burn(shapes, np.arange(1, len(shapes) + 1), block.transform, out, first_wins=True)
    found = out.view(np.int32)
    found.flags.writeable = False
    return found


def own_positions(block: Block) -> NDArray[np.int32]:
    """Position in ``block.lots`` of every lot around; -1 of those of other blocks."""
    position = pd.Series(np.arange(len(block.lots)), index=block.lots["lot_id"].astype("object"))
    found = position.reindex(block.layers["lots"]["lot_id"].astype("object"))
    positions: NDArray[np.int32] = found.fillna(-1).to_numpy(dtype=np.int32)
    return positions


def lot_positions(block: Block) -> NDArray[np.int32]:
    """Position in ``block.lots`` of the lot of each elevation cell; -1 where there is none of the block's."""
    table = np.concatenate([np.array([-1], dtype=np.int32), own_positions(block)])
    positions: NDArray[np.int32] = table[lot_numbers(block)]
    return positions
