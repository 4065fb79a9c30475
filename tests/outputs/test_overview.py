from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely
from matplotlib.colors import to_hex
from matplotlib.image import imread
from matplotlib.path import Path as Outline

from screening.outputs.overview import overview, scale_bar, write_overview
from screening.outputs.palette import GREY, SUITABILITY
from screening.outputs.suitability import suitability_breaks
from screening.result import Screening


def test_every_lot_is_drawn_in_its_class(made_up: Screening) -> None:
    lots = made_up.tables["lots"]
    drawn = {
        to_hex(patch.get_facecolor()): int((patch.get_path().codes == Outline.MOVETO).sum())
        for patch in overview(made_up).axes[0].patches
        if patch.get_facecolor()[3] > 0
    }
    classes = np.digitize(lots["score"].dropna().to_numpy(dtype=float), suitability_breaks(lots["score"]))
    wanted = {SUITABILITY[n]: int((classes == n).sum()) for n in range(5)} | {GREY: int(lots["score"].isna().sum())}
    assert drawn == wanted


def test_the_picture_opens_and_repeats_whatever_the_title(made_up: Screening, tmp_path: Path) -> None:
    result = replace(made_up, title="$x^{ & <b>")
    one = write_overview(result, tmp_path / "a.png")
    assert imread(one).shape[:2] == (900, 1440)
    assert one.read_bytes() == write_overview(result, tmp_path / "b.png").read_bytes()


def test_where_lots_overlap_stays_full_and_holes_stay_open(made_up: Screening) -> None:
    ring = shapely.box(0, 0, 10, 10).difference(shapely.box(4, 4, 6, 6))
    over = shapely.reverse(shapely.box(-5, 1, 2, 3))
    lots = made_up.tables["lots"].iloc[:3].copy()
    lots.geometry = [ring, over, None]
    lots["score"] = 5000
    patch = next(p for p in overview(replace(made_up, tables={**made_up.tables, "lots": lots})).axes[0].patches)
    inside = full_by_winding(patch.get_path())
    assert inside(1, 2)
    assert not inside(5, 5)
    assert inside(-4, 2)


def full_by_winding(path: Outline) -> Callable[[float, float], bool]:
    """Whether a place is full by the winding rule: rings about it do not turn as often one way as the other."""
    rings = [shapely.Polygon(points) for points in path.to_polygons(closed_only=True)]

    def full(x: float, y: float) -> bool:
        turns = sum(1 if ring.exterior.is_ccw else -1 for ring in rings if ring.contains(shapely.Point(x, y)))
        return turns != 0

    return full


def test_the_scale_bar_is_a_round_length_of_the_readers_unit(made_up: Screening) -> None:
    assert scale_bar(950.0, "metric") == (200.0, "200 m")
    length_m, told = scale_bar(950.0, "us")  # 950 m are 3,117 ft: a third holds 1,000 ft
    assert (round(length_m, 4), told) == (304.8, "1,000 ft")
    assert any(text.get_text().endswith(" ft") for text in overview(made_up, "us").axes[0].texts)


def test_the_legend_reads_as_on_the_map_and_streets_have_their_names(made_up: Screening) -> None:
    axes = overview(made_up).axes[0]
    edges = [edge // 100 for edge in suitability_breaks(made_up.tables["lots"]["score"])]
    legend = [text.get_text() for text in axes.get_legend().get_texts()]
    assert legend[0] == f"Highest: {edges[3]} and over"
    assert legend[4:] == [f"Lowest: score under {edges[0]}", "Test soil first", "Look closer", "Ruled out"]
    assert set(made_up.tables["streets"]["street"].dropna()) <= {text.get_text() for text in axes.texts}
