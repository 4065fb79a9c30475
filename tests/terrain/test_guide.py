"""The drawn example of the guide is what the library does."""

import re
from importlib.resources import files

import numpy as np
import pytest
from affine import Affine

from screening.grid import Grid
from screening.sources import Window
from screening.terrain import route
from screening.terrain.survey import join_tile
from screening.terrain.tiles import Heights, Workspace

ARROWS = {1: "→", 2: "↘", 4: "↓", 8: "↙", 16: "←", 32: "↖", 64: "↑", 128: "↗", 0: "o"}
GUIDE = (files("screening") / "guide" / "terrain.md").read_text(encoding="utf-8")


def drawn(name: str) -> list[list[str]]:
    found = re.search(rf"<!-- {name} -->\n```\n(.*?)```", GUIDE, re.DOTALL)
    assert found, name
    return [line.split() for line in found[1].splitlines()]


@pytest.fixture(scope="module")
def grid() -> Grid:
    return Grid.from_array(np.array(drawn("heights"), np.float32), Affine(1, 0, 0, 0, -1, 0))


def test_layers_of_the_example(grid: Grid) -> None:
    routing = route(grid)
    assert drawn("directions") == [[ARROWS[code] for code in row] for row in routing.direction.tolist()]
    assert drawn("accumulation") == routing.accumulation.astype(str).tolist()
    assert drawn("carved") == routing.carved.astype(int).astype(str).tolist()
    assert routing.hollows.cells.tolist() == [7, 1]
    assert routing.hollows.level.tolist() == [6, 4]
    assert routing.hollows.depth_m().tolist() == [4, 1]
    changed = (np.array(drawn("ways")) != np.array(drawn("directions"))).sum()
    assert changed == 4


def test_first_ways_and_basins_of_the_example(grid: Grid) -> None:
    work = Workspace((8, 8), (1.0, 1.0), np.dtype(np.float32))
    joined = join_tile(work, Heights(grid.values, grid.state, 0, 0), Window(0, 0, 8, 8))
    names = {8: "o", 9: "*"} | {k: ARROWS[1 << k] for k in range(8)}
    assert drawn("ways") == [[names[way] for way in row] for row in joined.way.tolist()]
    labels = work.label[:64].reshape(8, 8).tolist()
    assert drawn("basins") == [[".AB"[label] for label in row] for row in labels]


def test_first_code_of_the_guide_runs() -> None:
    code = re.search(r"```python\n(.*?)```", GUIDE, re.DOTALL)
    assert code
    scope: dict[str, object] = {}
    exec(code[1], scope)
    assert len(scope["rows"]) == len(scope["columns"]) > 0  # type: ignore[arg-type]
