"""A picture of what each street could keep out of the drain, made without a browser."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from screening.outputs.reader_units import amount_text
from screening.ranking.sentences import Units
from screening.result import Screening
from screening.units import GALLON_M3

__all__ = ["street_chart", "write_street_chart"]

_MOST: Final = 25
"""Streets drawn; the chart says how many it leaves out."""


def street_chart(result: Screening, units: Units = "metric") -> Figure:
    """Draw, for each street, the roof and paving water of the storm and the part that gardens could keep."""
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
    figure = Figure(figsize=(8.0, 1.6 + 0.3 * max(len(shown), 1)), dpi=120, layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    axes.barh(places, shown["storm_runoff_m3"], color="#d9dde0", height=0.7, label="shed by roofs and paving")
    axes.barh(places, shown["storm_captured_m3"], color="#8fb8c9", height=0.7, label="could be captured")
    axes.barh(places, shown["storm_kept_m3"], color="#1f5a7a", height=0.38, label="of this, kept out of the drain")
    axes.set_yticks(places, names)
    axes.set_ylim(-0.7, max(len(shown), 1) - 0.3)
    left_out = len(streets) - len(shown)
    more = f" ({left_out} more streets not drawn)" if left_out > 0 else ""
    axes.set_xlabel(f"{unit} in a storm of {storm}{more}")
    axes.spines[["top", "right"]].set_visible(False)
    if len(shown):
        figure.legend(loc="outside lower center", ncols=3, frameon=False)
    return figure


def _plain(name: object) -> str:
    """A street's name as text that the chart does not read as mathematics; a missing one says so."""
    return "street not known" if name is None or pd.isna(name) or name == "" else str(name).replace("$", r"\$")


def write_street_chart(result: Screening, path: Path, units: Units = "metric") -> Path:
    """Write the street chart as PNG; no date and no version go into the file."""
    street_chart(result, units).savefig(path, format="png", metadata={"Software": None})
    return path
