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
        return self.between(self.waves_at(start), self.waves_at(end))

    def at(self, place: Floats) -> Floats:
        """Draws of the field at places, shape (n, draws)."""
        return self._unit(self.waves_at(place))

    def gradients(self, place: Floats, direction: Floats) -> Floats:
        """Draws of the field's slope at a place along a unit vector, scaled to variance 1, shape (n, draws)."""
        return self.along(self.waves_at(place), direction)

    def waves_at(self, place: Floats) -> Floats:
        """Cosines, then sines of the waves at places, shape (n, 2 waves); most of the time of a draw goes here."""
        phase = place @ self.waves.T
        out = np.empty((len(place), 2 * len(self.waves)))
        np.cos(phase, out=out[:, : len(self.waves)])
        np.sin(phase, out=out[:, len(self.waves) :])
        return out

    def between(self, start: Floats, end: Floats) -> Floats:
        """``differences``, from ``waves_at`` both places."""
        return self._unit(end - start)

    def along(self, at: Floats, direction: Floats) -> Floats:
        """``gradients``, from ``waves_at`` the place."""
        cosines, sines = at[:, : len(self.waves)], at[:, len(self.waves) :]
        steep = direction @ self.waves.T
        return self._unit(np.hstack([-sines * steep, cosines * steep]))

    def _unit(self, rows: Floats) -> Floats:
        """Draws by rows of the waves' parts, which are scaled to length 1 in place."""
        length = np.sqrt((rows**2).sum(axis=1, keepdims=True))
        rows /= np.where(length > 1e-9, length, np.inf)
        return np.asarray(rows @ self.amplitudes)


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
