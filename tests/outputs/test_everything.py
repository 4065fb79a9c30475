from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from screening.outputs import everything
from screening.outputs.everything import write_outputs
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


def test_a_raster_that_cannot_be_written_leaves_nothing(
    made_up: Screening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(result: Screening, folder: Path) -> None:
        folder.mkdir()
        (folder / "slope_pct.tif").write_bytes(b"half")
        raise OSError("No space left on device")

    monkeypatch.setattr(everything, "write_terrain", full)
    with pytest.raises(OSError, match="No space"):
        everything.write_outputs(made_up, tmp_path / "out")
    assert list((tmp_path / "out").iterdir()) == []
