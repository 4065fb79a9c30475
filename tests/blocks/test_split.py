from __future__ import annotations

import pytest

from screening.blocks.split import LOTS_PER_BLOCK, lots_per_block


@pytest.mark.parametrize(
    ("lots", "threads", "most"),
    [(20_000, 2, LOTS_PER_BLOCK), (5_000, 2, 2500), (2_001, 2, 1001), (2_001, 1, 2001), (300, 4, 200), (1, 2, 200)],
)
def test_every_thread_has_a_block_unless_lots_are_few(lots: int, threads: int, most: int) -> None:
    assert lots_per_block(lots, threads) == most
