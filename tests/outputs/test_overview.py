from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from matplotlib.colors import to_hex
from matplotlib.image import imread

from screening.outputs.overview import overview, write_overview
from screening.outputs.palette import GREY, SUITABILITY
from screening.outputs.suitability import suitability_breaks
from screening.result import Screening


def test_every_lot_is_drawn_in_its_class(made_up: Screening) -> None:
    lots = made_up.tables["lots"]
    drawn = {
        to_hex(group.get_facecolor()[0]): len(group.get_paths())
        for group in overview(made_up).axes[0].collections
        if len(group.get_facecolor())
    }
    classes = np.digitize(lots["score"].dropna().to_numpy(dtype=float), suitability_breaks(lots["score"]))
    wanted = {SUITABILITY[n]: int((classes == n).sum()) for n in range(5)} | {GREY: int(lots["score"].isna().sum())}
    assert drawn == wanted


def test_the_picture_opens_and_repeats_whatever_the_title(made_up: Screening, tmp_path: Path) -> None:
    result = replace(made_up, title="$x^{ & <b>")
    one = write_overview(result, tmp_path / "a.png")
    assert imread(one).shape[:2] == (900, 1440)
    assert one.read_bytes() == write_overview(result, tmp_path / "b.png").read_bytes()
