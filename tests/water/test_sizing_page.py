"""The guide's sizing tables are the formula's: every cell of the page is worked out anew by hand."""

import re
from importlib.resources import files

import pytest
from click.testing import CliRunner

from screening.cli import screening as group
from screening.rules import Rules
from screening.water.sizing_page import sizing_page

PAGE = files("screening").joinpath("guide/sizing.md").read_text(encoding="utf-8")


def tables(page):
    """Tables of the page: head cells, rows of numbers as printed, brackets off."""
    found = []
    for block in re.findall(r"(?:^\|.*\|\n)+", page, re.MULTILINE):
        lines = [[cell.strip() for cell in line.strip("|\n").split("|")] for line in block.splitlines()]
        found.append((lines[0], lines[2:]))
    return found


def bare(cell):
    return float(cell.strip("()"))


def test_the_page_of_the_guide_is_the_one_that_is_printed():
    assert sizing_page(Rules()) == PAGE


def test_every_cell_is_the_formulas():
    """0.95 x 38 mm x area / (150 mm + 0.40 x bed), and its inverse; areas in either unit, beds in mm or inches."""
    printed = tables(PAGE)
    assert len(printed) == 4
    for number, (head, rows) in enumerate(printed):
        beds_mm = [float(re.search(r"bed (\d+)", cell)[1]) * (25.4 if number >= 2 else 1.0) for cell in head[1:]]
        assert len(rows) == 10
        for row in rows:
            area = float(row[0])
            for bed, cell in zip(beds_mm, row[1:], strict=True):
                per = 0.95 * 38.0 / (150.0 + 0.40 * bed)
                expected = area * per if number % 2 == 0 else area / per
                assert bare(cell) == pytest.approx(expected, abs=0.051 if number == 0 else 0.51)


def test_the_worked_case():
    """600 sq ft, bed 12 in, 1.5 in of rain, ponding 6 in, void fraction 0.40: 0.132 of the roof (common practice)."""
    rules = Rules(capture_depth_mm=38.1, ponding_depth_mm=152.4)
    head, rows = tables(sizing_page(rules))[2]
    row = next(row for row in rows if row[0] == "600")
    assert bare(row[head.index("bed 12 in")]) == round(0.95 * 1.5 * 600 / (6 + 0.4 * 12))


def test_sizes_beyond_the_rules_stand_in_brackets():
    _, rows = tables(PAGE)[0]
    cells = [cell for row in rows for cell in row[1:]]
    assert all(cell.startswith("(") == (not 3.0 <= bare(cell) <= 28.0) for cell in cells)
    assert any(cell.startswith("(") for cell in cells)
    _, rows = tables(PAGE)[1]
    assert all(cell.startswith("(") == (bare(cell) > 185.0) for row in rows for cell in row[1:])


def test_the_command_prints_it_for_other_rules(tmp_path):
    path = tmp_path / "rules.toml"
    path.write_text("capture_depth_mm = 25\ncapture_depth_least_mm = 25\n", encoding="utf-8")
    printed = CliRunner().invoke(group, ["sizing", str(path)])
    assert printed.exit_code == 0
    assert printed.output == sizing_page(Rules(capture_depth_mm=25.0, capture_depth_least_mm=25.0))
    assert "capture depth 25 mm" in printed.output
