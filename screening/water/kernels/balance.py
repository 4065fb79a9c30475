"""Water balance of gardens over a rain record, lot by lot."""

from __future__ import annotations

from typing import Any

from numpy.typing import NDArray

from screening.jit import compiled

__all__ = ["balance"]


@compiled
def balance(
    rain_mm: NDArray[Any],
    step_h: NDArray[Any],
    year: NDArray[Any],
    ratio: NDArray[Any],
    capacity_mm: NDArray[Any],
    rate_mm_h: NDArray[Any],
    overflow_mm: NDArray[Any],
    totals_mm: NDArray[Any],
) -> None:
    """Run every garden through the record; rain and infiltration are steady within a step, so each step is exact.

    All depths are over the ponding area. ``ratio`` is inflow over rain. ``overflow_mm`` (gardens x years, zeros on
    entry) takes the overflow of each year; ``totals_mm`` (gardens x 4) takes inflow, infiltration, overflow and what is
    still stored at the end. ``year`` is a column of ``overflow_mm``, -1 for a step that no year counts.
    """
    for garden in range(ratio.shape[0]):
        capacity = capacity_mm[garden]
        rate = rate_mm_h[garden]
        share = ratio[garden]
        stored = 0.0
        came = 0.0
        soaked = 0.0
        spilt = 0.0
        for step in range(rain_mm.shape[0]):
            could = rate * step_h[step]
            rain = rain_mm[step]
            if rain == 0.0:
                if stored > could:
                    soaked += could
                    stored -= could
                else:
                    soaked += stored
                    stored = 0.0
                continue
            inflow = share * rain
            came += inflow
            level = stored + inflow - could
            if level < 0.0:
                soaked += stored + inflow
                stored = 0.0
            elif level > capacity and inflow > could:
                soaked += could
                over = level - capacity
                spilt += over
                if year[step] >= 0:
                    overflow_mm[garden, year[step]] += over
                stored = capacity
            else:
                soaked += could
                stored = level
        totals_mm[garden, 0] = came
        totals_mm[garden, 1] = soaked
        totals_mm[garden, 2] = spilt
        totals_mm[garden, 3] = stored
