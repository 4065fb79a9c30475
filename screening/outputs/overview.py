"""One picture of the whole area for a slide, made without a browser."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Patch, PathPatch
from matplotlib.path import Path as Outline
from matplotlib.patheffects import withStroke

from screening.outputs.cautions import SHORT_CAUTION
from screening.outputs.map.relief import coarse, hillshade
from screening.outputs.palette import GREY, SUITABILITY
from screening.outputs.suitability import suitability_breaks
from screening.ranking.sentences import Units
from screening.result import Screening
from screening.units import FOOT_M

__all__ = ["overview", "scale_bar", "write_overview"]

_HATCH: Final = {"test soil first": "....", "look closer": "////", "ruled out": "xxxx"}
_LONGEST: Final = 900
"""Most cells of the hillshade along its longer side."""
_MOST_NAMES: Final = 40
"""Streets up to which their names are drawn."""


def _outline(shapes: Any) -> Outline | None:
    """Polygons, their holes and parts, as one outline; outer rings turn one way, so that where lots overlap stays full.

    One outline for a whole class, not one for each lot, is what keeps a picture of many lots quick to draw.
    """
    parts = shapely.get_parts(np.asarray(shapes, dtype=object))
    rings = shapely.get_rings(shapely.orient_polygons(parts[shapely.get_type_id(parts) == 3]))
    if not len(rings):
        return None
    points, ring = shapely.get_coordinates(rings, return_index=True)
    codes = np.full(len(points), Outline.LINETO, dtype=Outline.code_type)
    first = np.flatnonzero(np.diff(ring, prepend=-1))
    codes[first] = Outline.MOVETO
    codes[[*(first[1:] - 1), len(points) - 1]] = Outline.CLOSEPOLY
    return Outline(points, codes)


def _draw(axes: Axes, shapes: Any, **style: Any) -> None:
    """Draw polygons in one style."""
    outline = _outline(shapes)
    if outline is not None:
        axes.add_artist(PathPatch(outline, **style))


def _ground(axes: Axes, result: Screening) -> None:
    values, transform = coarse(result.rasters["heights_m"], _LONGEST)
    rows, columns = values.shape
    west, north = transform.c, transform.f
    extent = (west, west + columns * transform.a, north + rows * transform.e, north)
    light = hillshade(values, transform.a, -transform.e)
    axes.imshow(light, cmap="gray", vmin=-0.2, vmax=1.0, extent=extent, interpolation="bilinear")


def _lots(axes: Axes, result: Screening) -> tuple[int, ...]:
    """Lots by class with their verdict's hatching; returns where classes begin."""
    lots = result.tables["lots"]
    breaks = suitability_breaks(lots["score"])
    score = lots["score"].astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    classes = np.where(np.isnan(score), -1, np.digitize(np.nan_to_num(score), breaks))
    for number in (-1, 0, 1, 2, 3, 4):
        fill = GREY if number < 0 else SUITABILITY[number]
        _draw(axes, lots.geometry[classes == number], facecolor=fill, edgecolor="#3b444a", linewidth=0.3, alpha=0.85)
    for verdict, hatch in _HATCH.items():
        there = (lots["verdict"] == verdict).fillna(False)
        _draw(axes, lots.geometry[there], facecolor="none", edgecolor="#20262b80", linewidth=0.0, hatch=hatch)
    return breaks


def _legend(axes: Axes, breaks: tuple[int, ...]) -> None:
    edges = [edge // 100 for edge in breaks]
    names = [f"Highest: {edges[3]} and over"]
    names += [f"{edges[n - 1]} to under {edges[n]}" for n in (3, 2, 1)]
    names += [f"Lowest: score under {edges[0]}"]
    rows = [
        Patch(facecolor=SUITABILITY[n], edgecolor="#3b444a", label=name)
        for n, name in zip((4, 3, 2, 1, 0), names, strict=True)
    ]
    rows += [
        Patch(
            facecolor=GREY if verdict == "ruled out" else "white",
            edgecolor="#3b444a",
            hatch=hatch,
            label=verdict.capitalize(),
        )
        for verdict, hatch in _HATCH.items()
    ]
    axes.legend(
        handles=rows,
        loc="upper left",
        bbox_to_anchor=(1.01, 1.0),
        frameon=False,
        fontsize=9,
        title="Suitability",
        alignment="left",
    )


def _streets(axes: Axes, result: Screening) -> None:
    """Streets as lines; where they are few, each with its name along its longest line."""
    streets = result.tables["streets"]
    named = len(streets) <= _MOST_NAMES
    for name, shape in zip(streets["street"], streets.geometry, strict=True):
        lines = shapely.get_parts(shape) if shape is not None else ()
        for line in lines:
            axes.plot(*np.asarray(line.coords).T[:2], color="#8b9297", linewidth=2, zorder=0.9)
        if named and len(lines) and isinstance(name, str) and name:
            _name_along(axes, max(lines, key=lambda line: float(line.length)), name)


def _name_along(axes: Axes, line: Any, name: str) -> None:
    """A street's name at the middle of a line, turned with it and never upside down."""
    (x, y), (from_x, from_y), (to_x, to_y) = (
        line.interpolate(share, normalized=True).coords[0][:2] for share in (0.5, 0.4, 0.6)
    )
    turn = np.degrees(np.arctan2(to_y - from_y, to_x - from_x))
    turn = (turn + 90) % 180 - 90
    halo = [withStroke(linewidth=2.5, foreground="white")]
    place = {"rotation": turn, "ha": "center", "va": "center", "clip_on": True, "path_effects": halo}
    axes.text(x, y, name.replace("$", r"\$"), fontsize=8, zorder=4, **place)


def scale_bar(span_m: float, units: Units) -> tuple[float, str]:
    """Length of a scale bar for an area so wide [m], and what it says: 1, 2 or 5, 10, 20, ... of the reader's unit."""
    unit_m, unit = (FOOT_M, "ft") if units == "us" else (1.0, "m")
    most = max(span_m / unit_m / 3, 1.0)
    tens = 10.0 ** np.floor(np.log10(most))
    long = tens * max(step for step in (1, 2, 5) if step * tens <= most)
    return float(long * unit_m), f"{long:,.0f} {unit}"


def overview(result: Screening, units: Units = "metric") -> Figure:
    """Draw the area: hillshade, lots by suitability and verdict, streets, a scale bar, the caution."""
    figure = Figure(figsize=(12.0, 7.5), dpi=120, layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    _ground(axes, result)
    _streets(axes, result)
    _legend(axes, _lots(axes, result))
    west, south, east, north = result.tables["lots"].total_bounds
    margin = 0.03 * max(east - west, north - south, 1.0)
    axes.set(xlim=(west - margin, east + margin), ylim=(south - 2 * margin, north + margin), aspect="equal")
    bar_m, told = scale_bar(east - west, units)
    axes.plot([west, west + bar_m], [south - margin] * 2, color="black", linewidth=3, solid_capstyle="butt")
    axes.text(west + bar_m + 0.3 * margin, south - margin, told, va="center", fontsize=9)
    axes.set_axis_off()
    axes.set_title(result.title.replace("$", r"\$"), loc="left", fontweight="bold")
    figure.supxlabel(SHORT_CAUTION, fontsize=8)
    return figure


def write_overview(result: Screening, path: Path, units: Units = "metric") -> Path:
    """Write the picture as PNG; no date and no version go into the file."""
    overview(result, units).savefig(path, format="png", metadata={"Software": None})
    return path
