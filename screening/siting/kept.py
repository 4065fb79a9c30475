"""What the search kept of each lot, and the levels that follow from it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.siting.kernels.search_kernels import DETAILS
from screening.siting.search_arrays import World

__all__ = ["Kept", "LeadSums", "fall_error_m", "lead_sums", "lowest_lips"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Kept:
    """What the search kept, one entry a candidate.

    ``lot``: position; ``numbers``: as ``search_lots`` writes them; ``slots`` and ``modes``: downspouts led (-1 none)
    and how, shape (n, most leads).
    """

    lot: NDArray[np.int64]
    numbers: Floats
    slots: NDArray[np.int64]
    modes: NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class LeadSums:
    """Leads of each candidate: arrays of shape (n, most leads), NaN where there is none, and which is the tightest."""

    run_m: Floats
    needed_m: Floats
    ground_m: Floats
    tightest: NDArray[np.int64]

    def at_tightest(self, values: Floats) -> Floats:
        """Values of the tightest lead."""
        return np.asarray(np.take_along_axis(values, self.tightest[:, None], axis=1)[:, 0])


def lead_sums(kept: Kept, world: World) -> LeadSums:
    """Run, fall needed and ground of every lead kept, and which decides.

    The tightest is the one that fails beyond its error, else the one that falls short, else the one with least to
    spare, measured at the lowest lip.
    """
    p, spouts = world.limits, world.spouts
    led = kept.slots >= 0
    slot = np.maximum(kept.slots, 0)
    x, y = kept.numbers[:, DETAILS][:, None], kept.numbers[:, DETAILS + 1][:, None]
    run = np.hypot(x - spouts.x[slot], y - spouts.y[slot])
    depths = np.array([p.start_surface, p.start_shallow, p.start_buried])
    needed = depths[kept.modes] + p.freeboard_lead + p.grade * run
    ground = spouts.ground[slot]
    margin = np.where(led, ground - needed - lowest_lips(kept, world)[:, None], np.inf)
    short = np.where(margin < -2.0 * fall_error_m(run, p), 2, np.where(margin < 0.0, 1, 0))
    return LeadSums(
        np.where(led, run, np.nan),
        np.where(led, needed, np.nan),
        np.where(led, ground, np.nan),
        np.lexsort((margin, -short), axis=1)[:, 0],
    )


def lowest_lips(kept: Kept, world: World) -> Floats:
    """Lowest lip that can be built at each candidate [m]."""
    ground, drop = kept.numbers[:, 12], kept.numbers[:, 13] * np.sqrt(kept.numbers[:, 0])
    return np.asarray(np.maximum(ground - drop, ground + drop - world.limits.cut_most))


def fall_error_m(run_m: Floats, limits: Any) -> Floats:
    """One sigma of the fall between two places of ground whose error has a Gaussian correlation [m]."""
    share = 1.0 - np.exp(-(run_m**2) / (2.0 * limits.error_range**2))
    return np.asarray(limits.error * np.sqrt(2.0 * share))
