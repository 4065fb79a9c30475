from __future__ import annotations

import numpy as np
import pytest
from affine import Affine

from screening.outputs.map import flow_lines as module
from screening.outputs.map.flow_lines import flow_lines
from screening.outputs.map.hollows import hollows
from screening.rules import Rules
from screening.sources import ArraySource

TRANSFORM = Affine(2, 0, 100, 0, -2, 200)


def _sources(direction: np.ndarray, cells: np.ndarray) -> tuple[ArraySource, ArraySource]:
    return ArraySource(direction.astype(np.uint8), TRANSFORM), ArraySource(cells.astype(np.int64), TRANSFORM)


def test_a_straight_valley_is_one_line_through_cell_centres() -> None:
    direction, cells = np.zeros((6, 5)), np.ones((6, 5))
    direction[:5, 2] = 4
    cells[:, 2] = [10, 20, 30, 40, 50, 60]
    lines, areas = flow_lines(*_sources(direction, cells), least_m2=80)
    assert [list(line.coords) for line in lines] == [[(105.0, 197.0), (105.0, 189.0)]]
    assert areas.tolist() == [240.0]


def test_lines_meet_at_a_junction_and_tell_their_own_area() -> None:
    direction, cells = np.zeros((3, 3)), np.ones((3, 3))
    direction[0, 0], direction[0, 2], direction[1, 1] = 2, 8, 4
    cells[0, 0], cells[0, 2], cells[1, 1], cells[2, 1] = 5, 6, 12, 13
    lines, areas = flow_lines(*_sources(direction, cells), least_m2=20)
    assert sorted(areas.tolist()) == [20.0, 24.0, 52.0]
    assert len(lines) == 3
    assert all(line.length > 0 for line in lines)


def test_strips_give_the_same_water(monkeypatch: pytest.MonkeyPatch) -> None:
    direction, cells = np.zeros((12, 4)), np.ones((12, 4))
    direction[:11, 1] = 4
    cells[:, 1] = np.arange(10, 22)
    whole, _ = flow_lines(*_sources(direction, cells), least_m2=1)
    monkeypatch.setattr(module, "_ROWS", 4)
    parts, areas = flow_lines(*_sources(direction, cells), least_m2=1)
    assert len(parts) == 3
    assert sum(line.length for line in parts) == whole[0].length
    assert areas.max() == 84.0


def test_hollows_are_outlined_when_deep_and_large_enough() -> None:
    depth = np.zeros((20, 20), dtype=np.float32)
    depth[2:6, 2:6] = 0.3
    depth[3, 3] = 0.5
    depth[10, 10] = 0.4
    depth[15:19, 15:19] = 0.05
    outlines, depths = hollows(ArraySource(depth, TRANSFORM), Rules())
    assert len(outlines) == 1
    assert outlines[0].area == pytest.approx(16 * 4)
    assert outlines[0].bounds == (104, 188, 112, 196)
    assert depths.tolist() == pytest.approx([0.5])
