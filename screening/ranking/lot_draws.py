"""Random numbers of each lot: they hang on the seed, the stage and the lot's id, never on its place in a table."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["LotDraws", "lot_draws", "lot_key", "weight_draws"]

LOT_STAGE: Final = 72
WEIGHT_STAGE: Final = 73
WEIGHT_STEPS: Final = 10_000

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LotDraws:
    """Draws of each lot, each of shape (lots, draws).

    ``soil_kind``: uniform 0 to 1, which soil it is; ``soil_rate``: normal, how fast; ``roof``: normal, roof area;
    ``elsewhere``: half-normal, how much better a place is that the search did not keep.
    """

    soil_kind: Floats
    soil_rate: Floats
    roof: Floats
    elsewhere: Floats


def lot_key(lot_id: str) -> list[int]:
    """Two whole numbers that stand for a lot's id in a seed."""
    digest = hashlib.blake2b(lot_id.encode("utf-8"), digest_size=8).digest()
    return [int.from_bytes(digest[:4], "little"), int.from_bytes(digest[4:], "little")]


def lot_draws(lot_ids: Sequence[str], draws: int, seed: int) -> LotDraws:
    """Draw the numbers of each lot."""
    kind, normal = np.empty((len(lot_ids), draws)), np.empty((3, len(lot_ids), draws))
    own = np.empty((3, draws))
    # whole numbers under 2**32 in an array seed as those in a list do, without being taken apart one by one
    seeds = np.array([[seed, LOT_STAGE, *lot_key(lot_id)] for lot_id in lot_ids], dtype=np.uint32)
    for number, own_seed in enumerate(seeds):
        random = np.random.Generator(np.random.PCG64(own_seed))
        random.random(out=kind[number])
        normal[:, number] = random.standard_normal(out=own)
    rate, roof, elsewhere = normal
    return LotDraws(kind, rate, roof, np.abs(elsewhere, out=elsewhere))


def weight_draws(weights: NDArray[np.int64], concentration: float, draws: int, seed: int) -> NDArray[np.int64]:
    """Draw the weights of the score about the given ones.

    Parameters
    ----------
    weights
        The given weights, whole numbers, shape (criteria,).
    concentration
        Sum of the parameters of the Dirichlet distribution; 0 takes the weights as given.
    draws, seed
        How many, and the seed.

    Returns
    -------
    numpy.ndarray
        Whole numbers, shape (draws, criteria); a weight of 0 stays 0.
    """
    total = int(weights.sum())
    if concentration <= 0 or total == 0:
        return np.broadcast_to(weights, (draws, weights.size)).astype(np.int64)
    out = np.zeros((draws, weights.size), dtype=np.int64)
    given = weights > 0
    random = np.random.default_rng([seed, WEIGHT_STAGE])
    shares = random.dirichlet(concentration * weights[given] / total, size=draws)
    out[:, given] = np.floor(shares * WEIGHT_STEPS + 0.5).astype(np.int64)
    return out
