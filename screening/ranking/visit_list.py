"""The first visits of the season: the lots as ranked, no more of one street than the rules allow."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.rules import Rules

__all__ = ["first_visits", "visits_of"]


def first_visits(
    rank: NDArray[np.int64], street: NDArray[Any], visits: int, of_street_most: int = 0
) -> NDArray[np.bool_]:
    """Tell which lots are visited: by rank, passing over lots of a street that has as many as it may.

    Parameters
    ----------
    rank
        1 for the first, 0 for lots without a rank, shape (n,).
    street
        Street of each lot, any hashable; lots of no known street have one between them. Shape (n,).
    visits
        How many lots.
    of_street_most
        Most lots of one street; 0 as many as come.
    """
    out = np.zeros(rank.size, dtype=bool)
    had: dict[Any, int] = {}
    left = visits
    for lot in np.argsort(rank, kind="stable"):
        if left == 0:
            break
        name = street[lot]
        if rank[lot] <= 0 or (of_street_most and had.get(name, 0) >= of_street_most):
            continue
        had[name] = had.get(name, 0) + 1
        out[lot] = True
        left -= 1
    return out


def visits_of(lots: Any, rules: Rules) -> NDArray[np.bool_]:
    """The first visits from the lots table, under the rules' number and cap, shape (n,)."""
    rank = lots["rank"].astype("Int64").fillna(0).to_numpy(dtype=np.int64)
    street = lots["street"].fillna("").to_numpy(dtype=object)
    return first_visits(rank, street, rules.visits, rules.visits_of_street_most)
