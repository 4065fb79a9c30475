"""Draw the made-up lots of the tests and what the tool makes of them, as one sheet of pictures for the guide.

Run from the project's folder: ``python scripts/draw_cases.py [FILE]``.
"""

from __future__ import annotations

import sys
import textwrap
from pathlib import Path
from typing import Any

import matplotlib as mpl

mpl.use("Agg")

import matplotlib.pyplot as plt
import numpy as np
import shapely
from matplotlib.patches import Patch

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from tests.cases.more_sites import MORE_SITES  # noqa: E402 - found by the path above
from tests.cases.run import Outcome, right, run_site  # noqa: E402
from tests.cases.sites import SITES, Site  # noqa: E402

COLUMNS = 6
DRAWN = ("candidates", "leads", "overflow_paths", "downspouts")
LAYERS = {
    "paved": ("#cfcfcf", "paving"),
    "easements": ("#f0c987", "easement"),
    "septic": ("#d9b99b", "septic field"),
    "avoid": ("#f3b8b0", "ground to avoid"),
}
MARKS = {"trees": ("#3f7d3a", "^"), "wells": ("#1b4f8f", "o")}
LINES = {"buried": {"color": "#7a3b69", "lw": 1.2, "ls": "--"}, "streets": {"color": "#888888", "lw": 2.5}}
OUTLINES = {
    "lots": {"facecolor": "none", "edgecolor": "#333333"},
    "roofs": {"facecolor": "#b9b4ae", "edgecolor": "#555555"},
}
GARDEN, RING, OPEN, LEAD, OVERFLOW = "#2a6f97", "#a9d6e5", "#e3efcf", "#b5651d", "#5b8fb9"


def shape(axes: Any, geometry: Any, **style: Any) -> None:
    """Draw a polygon, its holes left out."""
    for part in shapely.get_parts(geometry):
        rings = [part.exterior, *part.interiors] if part.geom_type == "Polygon" else [part]
        path = mpl.path.Path.make_compound_path(
            *[mpl.path.Path(np.asarray(ring.coords), closed=part.geom_type == "Polygon") for ring in rings]
        )
        axes.add_patch(mpl.patches.PathPatch(path, **style))


def line(axes: Any, geometry: Any, **style: Any) -> None:
    """Draw a line."""
    for part in shapely.get_parts(geometry):
        axes.plot(*np.asarray(part.coords).T, **style)


def ground_of(axes: Any, outcome: Outcome) -> None:
    """Lot, what lies on it and where digging is allowed."""
    block = outcome.block
    for geometry in block.tables["open_ground"].geometry[:1]:
        shape(axes, geometry, facecolor=OPEN, edgecolor="none", zorder=1)
    for name, geometry in [(name, shape_) for name, layer in block.layers.items() for shape_ in layer.geometry]:
        if name in LAYERS:
            shape(axes, geometry, facecolor=LAYERS[name][0], edgecolor="none", alpha=0.8, zorder=2)
        elif name in MARKS:
            axes.plot(geometry.x, geometry.y, MARKS[name][1], color=MARKS[name][0], ms=5, zorder=6)
        elif name in LINES:
            line(axes, geometry, zorder=3, **LINES[name])
        elif name in OUTLINES:
            shape(axes, geometry, lw=0.8, zorder=5, **OUTLINES[name])
    wet = block.rasters["wet"]
    if wet.any():
        row, column = np.nonzero(wet)
        x, y = block.transform @ (column + 0.5, row + 0.5)
        axes.plot(x, y, "s", color="#9cc3dd", ms=3, zorder=2)


def gardens_of(axes: Any, site: Site, outcome: Outcome) -> None:
    """Candidates, the spot with its leads and its overflow, and where a person would dig."""
    lot = outcome.block.lots["lot_id"].iloc[0]
    tables = {name: table[table["lot_id"] == lot] for name, table in outcome.tables.items() if name in DRAWN}
    candidates = tables["candidates"]
    for geometry in candidates.geometry:
        shape(axes, geometry, facecolor="none", edgecolor=GARDEN, lw=0.4, zorder=6)
    for row in candidates[candidates["chosen"]].itertuples():
        shape(axes, row.geometry.buffer(0.6), facecolor=RING, edgecolor="none", zorder=7)
        shape(axes, row.geometry, facecolor=GARDEN, edgecolor="none", zorder=8)
        for name, style in (
            ("leads", {"color": LEAD, "lw": 1.4}),
            ("overflow_paths", {"color": OVERFLOW, "lw": 0.9, "ls": ":"}),
        ):
            for geometry in tables[name][tables[name]["candidate"] == row.candidate].geometry:
                line(axes, geometry, zorder=9, **style)
    for point in tables["downspouts"].geometry:
        axes.plot(point.x, point.y, "o", color="#222222", ms=2, zorder=9)
    for x, y in site.places:
        axes.plot(x, y, "x", color="#d00000", ms=5, mew=1.2, zorder=10)


def falls_of(axes: Any, site: Site) -> None:
    """An arrow down the plane, with its slope."""
    east, north = site.plane
    slope = float(np.hypot(east, north))
    if slope == 0.0:
        return
    axes.annotate(
        "",
        xy=(1.0 - 0.07 * east / slope, 0.84 - 0.07 * north / slope),
        xytext=(1.0 + 0.07 * east / slope, 0.84 + 0.07 * north / slope),
        xycoords="axes fraction",
        arrowprops={"arrowstyle": "->", "color": "#444444", "lw": 0.9},
    )
    axes.text(1.06, 1.0, f"{100 * slope:.3g}%", transform=axes.transAxes, ha="right", va="top", fontsize=5.5)


def picture(axes: Any, number: int, site: Site) -> bool:
    """One lot; whether the tool agrees with a practitioner."""
    outcome = run_site(site)
    ground_of(axes, outcome)
    gardens_of(axes, site, outcome)
    falls_of(axes, site)
    west, south, east, north = shapely.bounds(shapely.union_all(list(site.lots)))
    axes.set_xlim(west - 4, east + 4)
    axes.set_ylim(south - 5, max(north, 1.0) + 5)
    axes.set_aspect("equal")
    axes.set_axis_off()
    agrees = not right(site, outcome)
    codes = f" ({', '.join(outcome.codes).replace('_', ' ')})" if outcome.codes else ""
    axes.set_title(f"{number}. {site.name}", fontsize=7.5, loc="left", pad=14, weight="bold")
    axes.text(0.0, 1.01, f"{outcome.verdict}{codes}", transform=axes.transAxes, fontsize=6.2, va="bottom",
              color="#222222" if agrees else "#d00000")  # fmt: skip
    axes.text(0.5, -0.01, textwrap.fill(site.words, 44), transform=axes.transAxes, fontsize=5.6, va="top", ha="center")
    return agrees


def main(path: Path) -> int:
    """Draw the sheet."""
    sites = (*SITES, *MORE_SITES)
    rows = -(-len(sites) // COLUMNS)
    figure, axes = plt.subplots(rows, COLUMNS, figsize=(2.35 * COLUMNS, 3.3 * rows), layout="constrained")
    agree = [
        picture(place, number, site)
        for number, (place, site) in enumerate(zip(axes.flat, sites, strict=False), start=1)
    ]
    for place in axes.flat[len(sites) :]:
        place.set_axis_off()
    keys = [Patch(color=OPEN, label="open ground"), Patch(color=GARDEN, label="spot: ponding area"),
            Patch(color=RING, label="its berm"), Patch(color=LEAD, label="lead"),
            Patch(color=OVERFLOW, label="overflow"), Patch(color="#b9b4ae", label="roof")]  # fmt: skip
    keys += [Patch(color=colour, label=label) for colour, label in LAYERS.values()]
    figure.legend(handles=keys, loc="outside lower center", ncols=len(keys), fontsize=7, frameon=False)
    figure.suptitle("Made-up lots: what the tool finds, and where a practitioner would dig (red cross)", fontsize=11)
    figure.savefig(path, dpi=100, metadata={"Software": None})
    print(f"{path.name}: {len(sites)} lots, {sum(agree)} as a practitioner would judge them")
    return 0 if all(agree) else 1


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "screening" / "guide" / "cases.png"))
