"""Words for how fast ground takes water: the survey's classes of conductivity and its older ones of permeability.

The words overlap and the cuts do not: an older report calls "moderate" what a newer one calls "moderately
high" or "high". A class is no rate; nothing is sized by it.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screening.soils.groups import UNKNOWN

__all__ = ["CONDUCTIVITY_CLASSES", "PERMEABILITY_CLASSES", "conductivity_class", "permeability_class"]

CONDUCTIVITY_CLASSES: Final = ("very low", "low", "moderately low", "moderately high", "high", "very high")
"""Classes of saturated conductivity, the slowest first."""
PERMEABILITY_CLASSES: Final = (
    "very slow", "slow", "moderately slow", "moderate", "moderately rapid", "rapid", "very rapid",
)  # fmt: skip
"""The older classes of permeability, the slowest first."""

_CONDUCTIVITY_UM_S: Final = np.array([0.01, 0.1, 1.0, 10.0, 100.0])
_PERMEABILITY_IN_H: Final = np.array([0.06, 0.2, 0.6, 2.0, 6.0, 20.0])


def conductivity_class(ksat_um_s: ArrayLike) -> NDArray[np.str_]:
    """Class of a saturated conductivity: each from its lower bound on (cuts as a custom soil report prints them).

    Parameters
    ----------
    ksat_um_s
        Saturated conductivity; NaN where unknown. [um/s]

    Returns
    -------
    numpy.ndarray
        Words of the same shape; ``unknown`` for NaN.
    """
    rate = np.asarray(ksat_um_s, dtype=np.float64)
    words = np.array(CONDUCTIVITY_CLASSES)[np.searchsorted(_CONDUCTIVITY_UM_S, rate, side="right") % 6]
    return np.where(np.isnan(rate), UNKNOWN, words)


def permeability_class(rate_in_h: ArrayLike) -> NDArray[np.str_]:
    """Class of permeability of the older reports: very slow below 0.06, very rapid above 20 in/h (EPA 1981, adapted).

    Which class a rate on a bound belongs to is not printed: the faster one, but at 20 in/h, which is not above 20.

    Parameters
    ----------
    rate_in_h
        Rate; NaN where unknown. [in/h]

    Returns
    -------
    numpy.ndarray
        Words of the same shape; ``unknown`` for NaN.
    """
    rate = np.asarray(rate_in_h, dtype=np.float64)
    place = np.searchsorted(_PERMEABILITY_IN_H, rate, side="right") - (rate == _PERMEABILITY_IN_H[-1])
    return np.where(np.isnan(rate), UNKNOWN, np.array(PERMEABILITY_CLASSES)[place % 7])
