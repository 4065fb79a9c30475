from __future__ import annotations

import subprocess
import sys
import threading
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from screening.clock import Clock
from screening.outputs import drawn, everything
from screening.outputs.everything import write_outputs, writer
from screening.outputs.write import write_text
from screening.result import Screening


def test_pages_and_rasters_that_only_an_earlier_run_had_are_removed(made_up: Screening, tmp_path: Path) -> None:
    for name in (
        "map_pages/1.html",
        "map_pages/12.html",
        "map_public.html",
        "terrain/slope_pct.tif",
        "terrain/own.tif",
    ):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        write_text(tmp_path / name, "old\n")
    rasters = {name: raster for name, raster in made_up.rasters.items() if name != "slope_pct"}
    paths = write_outputs(replace(made_up, rasters=rasters), tmp_path)
    left = {path for path in tmp_path.rglob("*") if path.is_file()}
    assert left == {*paths.values(), tmp_path / "terrain" / "own.tif"}
    assert not (tmp_path / "map_pages").exists()


@pytest.mark.parametrize("failing", ["write_terrain", "write_geopackage", "map_jobs", "write_csv_files"])
def test_whatever_cannot_be_written_nothing_is_left(
    failing: str, made_up: Screening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(result: Screening, path: Path, *_: object, **__: object) -> None:
        ((path if path.is_dir() else path.parent) / "half").write_bytes(b"half")
        raise OSError("No space left on device")

    monkeypatch.setattr(everything if hasattr(everything, failing) else drawn, failing, full)
    with pytest.raises(OSError, match="No space"):
        everything.write_outputs(made_up, tmp_path / "out")
    assert list((tmp_path / "out").iterdir()) == []


@pytest.mark.parametrize("failing", ["write_csv_files", "a page"])
def test_what_was_not_begun_when_something_failed_is_left_undone(
    failing: str, made_up: Screening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    failed, begun = threading.Event(), []

    def waits(*_: object) -> dict[str, Path]:
        assert failed.wait(60)
        return {}

    def fails(*_: object, **__: object) -> None:
        threading.Timer(0.2, failed.set).start()
        raise OSError("No space left on device")

    monkeypatch.setattr(everything, "write_terrain", waits)
    monkeypatch.setattr(everything, "write_geopackage", lambda *_: begun.append("tables"))
    if failing == "a page":
        monkeypatch.setattr(drawn, "write_wanted_sheets", lambda *_: (tmp_path / "sheets.pdf", []))
        monkeypatch.setattr(drawn, "write_lists", lambda *_: {})
        monkeypatch.setattr(drawn, "map_jobs", lambda *_, **__: {"map": fails})
    else:
        monkeypatch.setattr(drawn, failing, fails)
    with pytest.raises(OSError, match="No space"):
        everything.write_outputs(made_up, tmp_path / "out")
    assert failed.is_set()
    assert begun == []
    assert list((tmp_path / "out").iterdir()) == []


def test_every_path_told_is_a_file_in_an_order_that_never_changes(made_up: Screening, tmp_path: Path) -> None:
    one, two = write_outputs(made_up, tmp_path / "a"), write_outputs(made_up, tmp_path / "b")
    assert list(one) == list(two)
    assert all(path.is_file() for path in one.values())
    for name in set(one) - {"lots"}:
        assert one[name].read_bytes() == two[name].read_bytes(), name


def test_what_is_begun_before_the_rest_is_known_gives_the_same_files(made_up: Screening, tmp_path: Path) -> None:
    clock, lots, reasons = Clock(), made_up.tables["lots"], made_up.tables["reasons"]
    unranked = lots.assign(rank=pd.array([pd.NA] * len(lots), dtype="Int64"), verdict=lots["verdict"].iloc[0])
    with writer(tmp_path / "a", clock) as one:
        one.ground_known(replace(made_up, tables={}))
        one.lots_known(replace(made_up, tables={**made_up.tables, "lots": unranked, "reasons": reasons.iloc[:0]}))
        begun = one.finish(made_up)
        assert [path.name for path in (tmp_path / "a").iterdir() if not path.name.startswith(".")] == []
    at_once = write_outputs(made_up, tmp_path / "b")
    assert list(begun) == list(at_once)
    for name in set(begun) - {"lots"}:
        assert begun[name].read_bytes() == at_once[name].read_bytes(), name
    assert set(clock.processor_s) == {"writing beside"}


def test_a_run_that_fails_after_its_terrain_leaves_nothing(made_up: Screening, tmp_path: Path) -> None:
    def fails() -> None:
        with writer(tmp_path / "out") as one:
            one.ground_known(made_up)
            one.lots_known(made_up)
            raise RuntimeError("no lots")

    with pytest.raises(RuntimeError, match="no lots"):
        fails()
    assert list((tmp_path / "out").iterdir()) == []


def test_what_draws_is_loaded_by_the_time_that_the_ground_is_known() -> None:
    code = (
        "import sys, pathlib, tempfile; from screening.outputs import writer;"
        "drawn = lambda: {'folium', 'matplotlib', 'screening.outputs.drawn'} & set(sys.modules); assert not drawn();"
        "from types import SimpleNamespace; folder = pathlib.Path(tempfile.mkdtemp());"
        "context = writer(folder); one = context.__enter__(); one.ground_known(SimpleNamespace(rasters={}));"
        "assert len(drawn()) == 3; context.__exit__(None, None, None)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
