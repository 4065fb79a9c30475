from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pandas as pd

from screening.fields import TABLES
from screening.outputs.chart import street_chart, write_street_chart
from screening.result import Screening


def test_the_chart_draws_the_streets_totals(made_up: Screening) -> None:
    axes = street_chart(made_up).axes[0]
    streets = made_up.tables["streets"].sort_values("storm_kept_m3")
    assert [label.get_text() for label in axes.get_yticklabels()] == streets["street"].tolist()
    kept = [bar.get_width() for bar in axes.containers[2]]
    assert kept == streets["storm_kept_m3"].tolist()


def test_names_are_text_and_not_mathematics(made_up: Screening, tmp_path: Path) -> None:
    streets = made_up.tables["streets"].copy()
    streets["street"] = ["$x^{", None, "a & b"]
    path = write_street_chart(replace(made_up, tables={**made_up.tables, "streets": streets}), tmp_path / "a.png")
    assert path.read_bytes().startswith(b"\x89PNG")


def test_no_street_still_gives_a_picture_and_equal_results_equal_bytes(made_up: Screening, tmp_path: Path) -> None:
    empty = pd.DataFrame({field.name: pd.Series(dtype="object") for field in TABLES["streets"]})
    write_street_chart(replace(made_up, tables={**made_up.tables, "streets": empty}), tmp_path / "a.png")
    one = write_street_chart(made_up, tmp_path / "b.png").read_bytes()
    assert one == write_street_chart(made_up, tmp_path / "c.png").read_bytes()


def test_large_amounts_read_with_separators_and_each_street_tells_what_it_keeps(made_up: Screening) -> None:
    streets = made_up.tables["streets"].copy()
    streets["storm_kept_m3"] = [12345.0, 6.0, 7.0]
    axes = street_chart(replace(made_up, tables={**made_up.tables, "streets": streets})).axes[0]
    assert [text.get_text().strip() for text in axes.texts] == ["6 kept", "7 kept", "12,345 kept"]
    assert axes.xaxis.get_major_formatter()(120000) == "120,000"
    assert axes.xaxis.get_major_formatter()(0.5) == "0.5"
