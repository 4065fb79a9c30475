"""Water kept against gardens built: best first, and as households happen to come.

Most gardens come from whoever answers, not from the top of the list; the band of random orders shows what that costs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["BAND_PCT", "KeptCurves", "feasible_kept_m3", "gardens_wanted", "kept_curve", "kept_curves"]

BAND_PCT: Final = (5.0, 50.0, 95.0)
CURVE_STAGE: Final = 81

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class KeptCurves:
    """Water kept by 0, 1, .. n gardens, each of shape (n + 1,) [m3].

    ``best``: the best first; ``low``, ``middle``, ``high``: 5%, half and 95% of the random orders lie below.
    """

    best: Floats
    low: Floats
    middle: Floats
    high: Floats


def kept_curve(kept_m3: Floats) -> Floats:
    """Water kept against gardens built, best first.

    Parameters
    ----------
    kept_m3
        Water that each garden keeps out of the drain, shape (n,) [m3].

    Returns
    -------
    numpy.ndarray
        Water kept by the best 0, 1, .. n gardens together, shape (n + 1,) [m3].
    """
    best_first = np.sort(np.nan_to_num(kept_m3))[::-1]
    return np.concatenate([[0.0], np.cumsum(best_first)])


def kept_curves(
    kept_m3: Floats, *, orders: int = 200, seed: int = 1, gardens: NDArray[np.int64] | None = None
) -> KeptCurves:
    """Water kept against gardens built.

    Parameters
    ----------
    kept_m3
        Water that each garden keeps out of the drain, shape (n,); unknown counts as none. [m3]
    orders
        How many random orders.
    seed
        Their seed.
    gardens
        The numbers of gardens at which the curves are wanted, from 0 to n; all of them when None.
    """
    kept = np.nan_to_num(kept_m3)
    random = np.random.default_rng([seed, CURVE_STAGE])
    shuffled = random.permuted(np.tile(kept, (orders, 1)), axis=1)
    sums = np.concatenate([np.zeros((orders, 1)), np.cumsum(shuffled, axis=1)], axis=1)
    best = kept_curve(kept)
    if gardens is not None:
        sums, best = sums[:, gardens], best[gardens]
    # of sorted values numpy finds them in a third of the time, its search among unsorted ones takes one at a time
    low, middle, high = np.percentile(np.sort(sums, axis=0), BAND_PCT, axis=0)
    return KeptCurves(best, low, middle, high)


def gardens_wanted(curve: Floats, share: float) -> int | None:
    """Count the gardens that a curve needs for a share of all its water; None when there is no water.

    Parameters
    ----------
    curve
        Any of the curves, shape (n + 1,) [m3].
    share
        Wanted share, 0 to 1.
    """
    if not 0.0 <= share <= 1.0:
        raise ValueError(f"a share lies between 0 and 1, got {share}")
    if curve[-1] <= 0:
        return None
    return int(np.argmax(curve >= share * curve[-1] * (1 - 1e-12)))


def feasible_kept_m3(lots: Any, column: str = "storm_kept_m3") -> Floats:
    """Water that the feasible garden of each lot keeps, one entry a feasible lot [m3]."""
    rows = lots[lots["verdict"] != "ruled out"]
    kept: Floats = rows[column].astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    return kept
