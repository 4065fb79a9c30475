"""The plan of a lot at a true scale: which scale fits, and where things fall on the paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import contourpy
import numpy as np
from numpy.typing import NDArray

from screening.ranking.sentences import Units
from screening.sources import RasterSource, Window
from screening.units import FOOT_M

__all__ = ["Plan", "bar_length_m", "contours", "fit_plan"]

_METRIC_SCALES: Final = (50, 100, 125, 150, 200, 250, 300, 400, 500, 600, 750, 1000, 1500, 2000, 2500, 5000, 10000)
_US_SCALES: Final = (60, 120, 240, 360, 480, 600, 720, 960, 1200, 1800, 2400, 3600, 6000, 12000)
"""One inch to 5, 10, 20, 30 feet and so on."""
_AROUND_M: Final = 3.0
"""Ground drawn around the lot."""


@dataclass(frozen=True)
class Plan:
    """A lot on the paper.

    Parameters
    ----------
    left, top, width, height
        The frame on the paper. [mm]
    scale
        One on the paper is this many on the ground.
    x_m, y_m
        Ground at the middle of the frame. [m]
    """

    left: float
    top: float
    width: float
    height: float
    scale: int
    x_m: float
    y_m: float

    def place(self, points: Any) -> list[tuple[float, float]]:
        """Places on the paper of points on the ground, in millimetres to a hundredth."""
        xy = np.asarray(points, dtype=np.float64)
        x = self.left + self.width / 2 + (xy[:, 0] - self.x_m) * 1000.0 / self.scale
        y = self.top + self.height / 2 - (xy[:, 1] - self.y_m) * 1000.0 / self.scale
        return list(zip(np.round(x, 2).tolist(), np.round(y, 2).tolist(), strict=True))

    @property
    def bounds_m(self) -> tuple[float, float, float, float]:
        """West, south, east, north of the frame on the ground [m]."""
        half_x, half_y = self.width * self.scale / 2000.0, self.height * self.scale / 2000.0
        return self.x_m - half_x, self.y_m - half_y, self.x_m + half_x, self.y_m + half_y


def fit_plan(
    bounds_m: tuple[float, float, float, float], frame: tuple[float, float, float, float], units: Units
) -> Plan:
    """The plan at the largest usual scale at which a lot and a little around it fit.

    Parameters
    ----------
    bounds_m
        West, south, east, north of the lot. [m]
    frame
        Left, top, width and height on the paper. [mm]
    units
        Usual scales differ: 1:100, 1:200 and so on, or an inch to so many feet.
    """
    west, south, east, north = bounds_m
    left, top, width, height = frame
    wanted = max((east - west + 2 * _AROUND_M) * 1000 / width, (north - south + 2 * _AROUND_M) * 1000 / height)
    scales = _US_SCALES if units == "us" else _METRIC_SCALES
    scale = next((scale for scale in scales if scale >= wanted), int(np.ceil(wanted / 1000) * 1000))
    return Plan(left, top, width, height, scale, (west + east) / 2, (south + north) / 2)


def bar_length_m(scale: int, units: Units, longest_mm: float = 32.0) -> tuple[float, str]:
    """Length of the scale bar on the ground [m] and what it is called: the longest round one that fits."""
    unit_m, name = (FOOT_M, "ft") if units == "us" else (1.0, "m")
    longest = longest_mm * scale / 1000.0 / unit_m
    power = 10.0 ** np.floor(np.log10(longest))
    round_one = max(step * power for step in (1, 2, 5) if step * power <= longest)
    return float(round_one * unit_m), f"{round_one:g} {name}"


def _window(source: RasterSource, bounds_m: tuple[float, float, float, float]) -> Window:
    west, south, east, north = bounds_m
    cells = source.transform
    first_column, last_column = (int(np.floor((x - cells.c) / cells.a)) for x in (west, east))
    first_row, last_row = (int(np.floor((y - cells.f) / cells.e)) for y in (north, south))
    return Window(first_row - 1, first_column - 1, last_row - first_row + 3, last_column - first_column + 3).clipped(
        source.shape
    )


def _smooth(heights: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean of three by three cells, of those that are known; unknown stays unknown."""
    known = np.isfinite(heights)
    padded, weight = np.pad(np.where(known, heights, 0.0), 1), np.pad(known.astype(float), 1)
    rows, columns = heights.shape
    total = sum(padded[r : r + rows, c : c + columns] for r in range(3) for c in range(3))
    count = sum(weight[r : r + rows, c : c + columns] for r in range(3) for c in range(3))
    return np.asarray(np.where(known, total / np.maximum(count, 1), np.nan))


def contours(
    heights: RasterSource, bounds_m: tuple[float, float, float, float], units: Units
) -> tuple[list[NDArray[np.float64]], float]:
    """Contours of the ground around a lot.

    Parameters
    ----------
    heights
        Heights. [m]
    bounds_m
        West, south, east, north. [m]
    units
        Intervals are round in metres or in feet.

    Returns
    -------
    tuple
        Lines as arrays of x and y [m], and the interval [m]; no lines and 0 when the ground is not known or is level.
    """
    window = _window(heights, bounds_m)
    if window.rows < 2 or window.columns < 2:
        return [], 0.0
    values = _smooth(np.asarray(heights.read(window), dtype=np.float64))
    known = np.isfinite(values)
    relief = float(np.ptp(values[known])) if known.any() else 0.0
    unit_m = FOOT_M if units == "us" else 1.0
    steps = (0.25, 0.5, 1, 2, 5, 10, 20, 50) if units == "us" else (0.1, 0.2, 0.5, 1, 2, 5, 10, 20)
    interval = next((step * unit_m for step in steps if relief / (step * unit_m) <= 10), steps[-1] * unit_m)
    if relief < interval:
        return [], 0.0
    cells = heights.transform
    x = cells.c + (window.column + np.arange(window.columns) + 0.5) * cells.a
    y = cells.f + (window.row + np.arange(window.rows) + 0.5) * cells.e
    drawn = contourpy.contour_generator(x, y, np.ma.masked_invalid(values))
    first = np.ceil(values[known].min() / interval) * interval
    levels = np.arange(first, values[known].max(), interval)
    return [np.asarray(line) for level in levels for line in drawn.lines(float(level)) if len(line) > 1], interval
