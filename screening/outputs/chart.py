"""A picture of what each street could keep out of the drain, made without a browser."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import StrMethodFormatter

from screening.outputs.reader_units import amount_text
from screening.ranking.sentences import Units
from screening.result import Screening
from screening.streets.curve_table import WHOLE_AREA
from screening.units import GALLON_M3

__all__ = ["street_chart", "write_street_chart"]

_MOST: Final = 25
"""Streets drawn; the chart says how many it leaves out."""

CURVE_IN: Final = 3.2
"""Height of the curve below them [in]."""
_GROUPED: Final = StrMethodFormatter("{x:,.10g}")
_KEPT: Final = ("best_m3", "low_m3", "median_m3", "high_m3")


def street_chart(result: Screening, units: Units = "metric") -> Figure:
    """Draw what each street sheds in the storm and what gardens could keep of it, and water kept by gardens built."""
    streets = pd.DataFrame(result.tables["streets"])
    numbers = ["storm_runoff_m3", "storm_kept_m3", "storm_captured_m3"]
    unit, size_m3, storm = ("gal", GALLON_M3, amount_text(result.rules.storm_depth_mm, "mm", units))
    if units == "metric":
        unit, size_m3 = "m³", 1.0
    streets[numbers] = streets[numbers].astype("Float64").fillna(0.0) / size_m3
    streets = streets.sort_values(["storm_kept_m3", "street"], ascending=[False, True], kind="stable")
    shown = streets.head(_MOST).iloc[::-1]
    names = [_plain(name) for name in shown["street"]]
    places = np.arange(len(shown))
    bars_in = 1.6 + 0.3 * max(len(shown), 1)
    figure = Figure(figsize=(8.0, bars_in + CURVE_IN), dpi=120, layout="constrained")
    FigureCanvasAgg(figure)
    axes, below = figure.subplots(2, 1, height_ratios=(bars_in, CURVE_IN))
    axes.barh(places, shown["storm_runoff_m3"], color="#d9dde0", height=0.7, label="shed by roofs and paving")
    axes.barh(places, shown["storm_captured_m3"], color="#8fb8c9", height=0.7, label="could be captured")
    axes.barh(places, shown["storm_kept_m3"], color="#1f5a7a", height=0.38, label="of this, kept out of the drain")
    axes.set_yticks(places, names)
    axes.set_ylim(-0.7, max(len(shown), 1) - 0.3)
    left_out = len(streets) - len(shown)
    more = f" ({left_out} more streets not drawn)" if left_out > 0 else ""
    for place, shed, kept in zip(places, shown["storm_runoff_m3"], shown["storm_kept_m3"], strict=True):
        axes.text(shed, place, f"  {kept:,.0f} kept", va="center", fontsize=8)
    axes.margins(x=0.13)
    axes.xaxis.set_major_formatter(_GROUPED)
    axes.set_title("What gardens could keep out of the drain, by street", loc="left", fontsize=11, fontweight="bold")
    axes.set_xlabel(f"{unit} in a storm of {storm}{more}")
    axes.spines[["top", "right"]].set_visible(False)
    if len(shown):
        axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.28 / bars_in - 0.12), ncols=3, frameon=False)
    _draw_curve(below, pd.DataFrame(result.tables["curves"]), size_m3, unit)
    return figure


def _draw_curve(axes: Axes, curves: pd.DataFrame, size_m3: float, unit: str) -> None:
    """Draw the whole area's water kept against gardens built."""
    whole = curves[curves["street"] == WHOLE_AREA]
    gardens = whole["gardens"].to_numpy(dtype=np.float64)
    kept = {name: whole[name].to_numpy(dtype=np.float64) / size_m3 for name in _KEPT}
    axes.fill_between(gardens, kept["low_m3"], kept["high_m3"], color="#d9dde0", label="9 of 10 random orders")
    axes.plot(gardens, kept["median_m3"], color="#6f7a80", linestyle="--", label="in random order, the middle one")
    axes.plot(gardens, kept["best_m3"], color="#1f5a7a", label="the best first")
    axes.yaxis.set_major_formatter(_GROUPED)
    axes.set_title("Water kept by gardens built, all streets together", loc="left", fontsize=11, fontweight="bold")
    axes.set_xlabel("gardens built")
    axes.set_ylabel(f"{unit} kept in the storm")
    axes.spines[["top", "right"]].set_visible(False)
    axes.set_xlim(left=0.0)
    axes.set_ylim(bottom=0.0)
    axes.legend(loc="lower right", frameon=False)


def _plain(name: object) -> str:
    """A street's name as text that the chart does not read as mathematics; a missing one says so."""
    return "street not known" if name is None or pd.isna(name) or name == "" else str(name).replace("$", r"\$")


def write_street_chart(result: Screening, path: Path, units: Units = "metric") -> Path:
    """Write the street chart as PNG; no date and no version go into the file."""
    street_chart(result, units).savefig(path, format="png", metadata={"Software": None})
    return path
