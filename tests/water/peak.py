"""Rain within a day, peak flow of a small catchment and a year's load as published: what runoff is held against.

Technical Release 55 (Soil Conservation Service, 1986; TR-55), chapter 4 and appendix F, in its own units, since its
coefficients have them; Schueler (1987) for the load. Loads and peaks of a catchment are no part of the screening.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["TYPE_II_SHARE", "annual_load_lb", "annual_runoff_in", "peak_flow_cfs", "type_ii_share", "unit_peak_csm_in"]

Floats = NDArray[np.float64]

TYPE_II_SHARE: Final = (
    0.0, 0.005, 0.011, 0.017, 0.023, 0.029, 0.035, 0.041, 0.048, 0.056, 0.063, 0.072, 0.080, 0.090, 0.100, 0.111, 0.122,
    0.135, 0.148, 0.163, 0.181, 0.204, 0.235, 0.283, 0.663, 0.735, 0.772, 0.799, 0.820, 0.838, 0.854, 0.868, 0.880,
    0.892, 0.903, 0.913, 0.922, 0.930, 0.938, 0.946, 0.953, 0.959, 0.965, 0.971, 0.977, 0.983, 0.989, 0.995, 1.0,
)  # fmt: skip
"""Share of a type II day's rain that has fallen by each half hour, 0 to 24 h (TR-55 era, three decimals)."""

_IA_OVER_P: Final = (0.10, 0.30, 0.35, 0.40, 0.45, 0.50)
_UNIT_PEAK: Final = np.array(
    [
        (2.55323, -0.61512, -0.16403),
        (2.46532, -0.62257, -0.11657),
        (2.41896, -0.61594, -0.08820),
        (2.36409, -0.59857, -0.05621),
        (2.29238, -0.57005, -0.02281),
        (2.20282, -0.51599, -0.01259),
    ]
)
"""TR-55 appendix F, type II: coefficients by initial abstraction over rain (from memory)."""


def type_ii_share(hours: ArrayLike) -> Floats:
    """Share of a type II day's rain that has fallen by a time of the day [h], between half hours in proportion."""
    return np.asarray(np.interp(np.asarray(hours, dtype=np.float64), 0.5 * np.arange(49), TYPE_II_SHARE))


def unit_peak_csm_in(concentration_h: ArrayLike, abstraction_share: ArrayLike) -> Floats:
    """Peak flow of each square mile and inch of runoff, type II (TR-55 exhibit 4-II by its regression) [csm/in].

    Parameters
    ----------
    concentration_h
        Time of concentration, 0.1 to 10 h. [h]
    abstraction_share
        Initial abstraction over rain; 0.1 to 0.5 count, beyond them the ends do.
    """
    share = np.asarray(abstraction_share, dtype=np.float64)
    c0, c1, c2 = (np.interp(share, _IA_OVER_P, column) for column in _UNIT_PEAK.T)
    time = np.log10(np.asarray(concentration_h, dtype=np.float64))
    return np.asarray(10.0 ** (c0 + c1 * time + c2 * time**2))


def peak_flow_cfs(unit_peak: ArrayLike, area_mi2: ArrayLike, runoff_in: ArrayLike, pond_factor: float = 1.0) -> Floats:
    """Peak flow of a catchment: unit peak x area x runoff x factor for ponds (TR-55 equation 4-1) [ft3/s]."""
    return np.asarray(np.asarray(unit_peak) * np.asarray(area_mi2) * np.asarray(runoff_in) * pond_factor)


def annual_runoff_in(rain_in: ArrayLike, runoff_coefficient: ArrayLike, shedding_share: float = 0.9) -> Floats:
    """Runoff of a year: rain x share of the events that shed (0.9, from memory) x Rv (Schueler 1987) [in]."""
    return np.asarray(np.asarray(rain_in) * shedding_share * np.asarray(runoff_coefficient))


def annual_load_lb(runoff_in: ArrayLike, concentration_mg_l: ArrayLike, area_ac: ArrayLike) -> Floats:
    """Load of a year: 0.226 x runoff x concentration x area (Schueler 1987) [lb]."""
    return np.asarray(0.226 * np.asarray(runoff_in) * np.asarray(concentration_mg_l) * np.asarray(area_ac))
