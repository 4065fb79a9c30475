"""The answer hangs on neither the threads nor the blocks; a fault or an interrupt in a block ends the run cleanly."""

from __future__ import annotations

import json
import threading

import pandas as pd
import pytest

from screening.blocks import all_blocks
from screening.clock import Clock
from screening.demo_data import demo_area_path
from screening.pipeline import read_area, run_area, screen


@pytest.fixture(scope="module")
def demo():
    """The demo area: every layer, lots by the hundred."""
    return read_area(demo_area_path())


@pytest.fixture(scope="module")
def whole(demo):
    """All in one block and one thread."""
    return screen(demo.area, demo.rules, own_rules=demo.own_rules, threads=1, lots_per_block=100_000)


def assert_same(result, other):
    assert result.tables.keys() == other.tables.keys()
    for name, table in result.tables.items():
        again = other.tables[name]
        pd.testing.assert_frame_equal(
            pd.DataFrame(table.drop(columns="geometry", errors="ignore")),
            pd.DataFrame(again.drop(columns="geometry", errors="ignore")),
            check_exact=True,
            obj=name,
        )
        if "geometry" in table.columns:
            assert table.geometry.to_wkb().tolist() == again.geometry.to_wkb().tolist(), name
    assert result.record == other.record


@pytest.mark.parametrize(("threads", "lots_per_block"), [(1, 100), (2, 100), (2, 100_000), (3, 41)])
def test_the_answer_hangs_on_neither_threads_nor_blocks(demo, whole, threads, lots_per_block):
    again = screen(demo.area, demo.rules, own_rules=demo.own_rules, threads=threads, lots_per_block=lots_per_block)
    assert_same(whole, again)


@pytest.mark.parametrize("threads", [1, 2])
def test_nor_on_blocks_of_seven(area, result, threads):
    assert len(area.layers["lots"]) > 7
    assert_same(result, screen(area, threads=threads, lots_per_block=7))


class Told:
    def __init__(self):
        self.steps = []

    def stage(self, name, _number, _total):
        self.steps.append(name)

    def step(self, done, total):
        self.steps.append((done, total))

    def finished(self):
        pass


@pytest.mark.parametrize("threads", [1, 2])
def test_progress_is_told_after_every_block_in_order(area, threads):
    told = Told()
    screen(area, threads=threads, lots_per_block=3, progress=told)
    assert told.steps == ["terrain", "lots", (2, 9), (4, 9), (6, 9), (9, 9), "ranking"]


@pytest.mark.parametrize("threads", [1, 2])
@pytest.mark.parametrize("fault", [ValueError, KeyboardInterrupt])
def test_a_fault_in_a_block_is_raised_as_it_is(area, monkeypatch, threads, fault):
    def broken(block, context, clock):
        raise fault(f"lots from {block.lots['lot_id'].iloc[0]}")

    monkeypatch.setattr(all_blocks, "run_block", broken)
    with pytest.raises(fault, match="lots from 005"):
        screen(area, threads=threads, lots_per_block=3)
    assert not [thread for thread in threading.enumerate() if thread.name.startswith("block")]


def test_times_are_told_by_stage(area):
    clock = Clock()
    screen(area, threads=2, lots_per_block=3, clock=clock)
    figures = clock.figures(2)
    assert figures["threads"] == 2
    assert list(figures["wall_s"]) == ["terrain", "lots", "chances", "ranking"]
    parts = {"cutting", "roofs", "open ground", "soils", "search", "judging", "water", "joining"}
    assert figures["processor_s"].keys() == parts | {"terrain", "chances", "ranking"}
    assert all(seconds > 0 for seconds in figures["processor_s"].values())


def test_a_run_writes_its_times_beside_its_outputs(tmp_path):
    _, paths = run_area(demo_area_path(), tmp_path / "out")
    figures = json.loads(paths["timings"].read_text())
    assert paths["timings"] == tmp_path / "out" / "timings.json"
    assert {"reading", "search", "writing"} <= figures["processor_s"].keys()
    assert list(figures["wall_s"]) == ["reading", "terrain", "lots", "chances", "ranking", "writing"]
