"""The elevation's error as a random field, at any place of the world, without a raster.

A sum of waves with fixed lengths and directions and normal amplitudes that differ from draw to draw (random Fourier
features; Rahimi and Recht 2007): its correlation over a distance d is exp(-d2 / (2 range2)) in the mean. The waves
hang on the seed alone, so that a place sees the same error whatever else is asked for, and neighbours share theirs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["ErrorField", "error_field", "fall_share"]

WAVES: Final = 64
GOLDEN_ANGLE: Final = np.pi * (3.0 - np.sqrt(5.0))
FIELD_STAGE: Final = 71

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ErrorField:
    """Draws of a field of variance 1.

    Parameters
    ----------
    waves
        Wave numbers, shape (waves, 2) [1/m].
    amplitudes
        Of cosines, then of sines, shape (2 waves, draws).
    """

    waves: Floats
    amplitudes: Floats

    def differences(self, start: Floats, end: Floats) -> Floats:
        """Draws of the field at ``end`` less that at ``start``, each scaled to variance 1.

        Parameters
        ----------
        start, end
            Places, shape (n, 2) [m].

        Returns
        -------
        numpy.ndarray
            Shape (n, draws); 0 where both places are one.
        """
        return self._unit(self._values(end) - self._values(start))

    def at(self, place: Floats) -> Floats:
        """Draws of the field at places, shape (n, draws)."""
        return self._unit(self._values(place))

    def gradients(self, place: Floats, direction: Floats) -> Floats:
        """Draws of the field's slope at a place along a unit vector, scaled to variance 1, shape (n, draws)."""
        phase, along = place @ self.waves.T, direction @ self.waves.T
        return self._unit(np.hstack([-np.sin(phase) * along, np.cos(phase) * along]))

    def _values(self, place: Floats) -> Floats:
        phase = place @ self.waves.T
        return np.hstack([np.cos(phase), np.sin(phase)])

    def _unit(self, rows: Floats) -> Floats:
        length = np.sqrt((rows**2).sum(axis=1, keepdims=True))
        unit = np.divide(rows, length, out=np.zeros_like(rows), where=length > 1e-9)
        return np.asarray(unit @ self.amplitudes)


def error_field(range_m: float, draws: int, seed: int, stage: int = FIELD_STAGE) -> ErrorField:
    """Make a field with a Gaussian correlation.

    Lengths are the quantiles that the correlation asks for and directions turn by the golden angle, so that few waves
    come near to it.

    Parameters
    ----------
    range_m
        Range of the correlation exp(-d2 / (2 range2)). [m]
    draws
        How many draws.
    seed
        Seed of the draws.
    stage
        Which of several independent fields of a seed.
    """
    random = np.random.default_rng([seed, stage])
    quantile = (np.arange(WAVES) + 0.5) / WAVES
    number = np.sqrt(-2.0 * np.log1p(-quantile)) / range_m
    angle = np.arange(WAVES) * GOLDEN_ANGLE + random.uniform(0.0, 2.0 * np.pi)
    waves = np.column_stack([number * np.cos(angle), number * np.sin(angle)])
    return ErrorField(waves, random.standard_normal((2 * WAVES, draws)))


def fall_share(distance_m: Floats, range_m: float) -> Floats:
    """Standard deviation of the difference of a field at two places, as a multiple of the field's own."""
    return np.asarray(np.sqrt(-2.0 * np.expm1(-(distance_m**2) / (2.0 * range_m**2))))
