"""The way of water cell by cell, in plain Python: an independent reading for tests."""

from __future__ import annotations

from typing import Any

import numpy as np

# D8 codes and their (row, column) steps
STEPS = {1: (0, 1), 2: (1, 1), 4: (1, 0), 8: (1, -1), 16: (0, -1), 32: (-1, -1), 64: (-1, 0), 128: (-1, 1)}


def follow(direction: Any, stops: Any, buildings: Any) -> tuple[Any, Any]:
    """First stop met on the way down from each cell, and the first building's setback entered before it."""
    reaches = np.zeros(direction.shape, dtype=np.uint8)
    enters = np.zeros(direction.shape, dtype=np.int32)
    for row, column in np.ndindex(direction.shape):
        r, c = row, column
        while True:
            if stops[r, c]:
                reaches[row, column] = stops[r, c]
                break
            if enters[row, column] == 0 and buildings[r, c]:
                enters[row, column] = buildings[r, c]
            if direction[r, c] not in STEPS:
                break
            down, right = STEPS[int(direction[r, c])]
            r, c = r + down, c + right
    return reaches, enters
