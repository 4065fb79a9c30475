"""What the guide to the season shows is what the library does."""

from importlib.resources import files
from math import log

import pandas as pd
import pytest

from screening.inputs.field_file import read_field_files
from screening.rules import Rules
from screening.soils.field_test import by_tests, conductivity_of_hole_mm_h

GUIDE = files("screening").joinpath("guide/season.md").read_text(encoding="utf-8")


def test_the_field_file_of_the_guide_reads(tmp_path):
    lines = [line.strip() for line in GUIDE.splitlines()]
    start = next(number for number, line in enumerate(lines) if line.startswith("lot,what,date"))
    example = lines[start : lines.index("", start)]
    (tmp_path / "field.csv").write_text("\n".join(example), encoding="utf-8")
    table = read_field_files([tmp_path / "field.csv"], ["12-004", "12-009"])
    assert table["what"].tolist() == ["approach", "call", "test", "level", "status"]
    assert table["hole_depth"].max() == pytest.approx(0.6)
    assert (table["at_spot"] - table["at_house"]).max() == pytest.approx(11 * 0.0254)


def test_the_worked_neighbour_of_the_guide():
    found = float(conductivity_of_hole_mm_h(600, 0, 55, 300))
    assert found == pytest.approx(3.0, abs=0.005)
    assert "= 3.0 mm/h" in GUIDE
    mapped = {"y_m": 0.0, "unit": 0, "ksat_um_s": 8 / 3.6, "ksat_spread": 2.0}
    places = pd.DataFrame([{"x_m": 50.0, "ksat_source": "group", **mapped}])
    tests = pd.DataFrame([{"x_m": 0.0, "test_ksat_um_s": 3.0 / 3.6, **mapped}])
    moved = by_tests(places, tests, Rules()).iloc[0]["ksat_um_s"] * 3.6
    assert moved == pytest.approx(4.23, abs=0.005)
    assert "= 4.2 mm/h" in GUIDE
    assert 75 / 36 * log(9) == pytest.approx(4.58, abs=0.005)
