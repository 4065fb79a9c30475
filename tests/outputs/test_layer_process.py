from __future__ import annotations

import sqlite3
from pathlib import Path

import pyarrow as pa
import pytest

from screening.errors import StageFailed
from screening.outputs import geopackage
from screening.outputs.geopackage import write_geopackage
from screening.outputs.layer_process import layers_in_a_process
from screening.result import Screening

ROWS = pa.table({"name": ["a", None], "count": [1, 2]})


def dump(path: Path) -> list[str]:
    database = sqlite3.connect(path)
    lines = list(database.iterdump())
    database.close()
    return lines


def test_a_process_of_its_own_writes_the_same_content(
    made_up: Screening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    started = []

    def counted(path: Path) -> object:
        started.append(path)
        return layers_in_a_process(path)

    monkeypatch.setattr(geopackage, "layers_in_a_process", counted)
    here = write_geopackage(made_up, tmp_path / "here.gpkg")
    assert not started
    monkeypatch.setattr(geopackage, "_MANY", 1)
    monkeypatch.setattr(geopackage, "_ROWS", 2)
    there = write_geopackage(made_up, tmp_path / "there.gpkg")
    assert started == [there]
    assert dump(here) == dump(there)


def test_what_the_process_could_not_write_is_told(tmp_path: Path) -> None:
    path = tmp_path / "missing" / "a.gpkg"
    with (
        pytest.raises(StageFailed, match=r"a\.gpkg could not be written: .*missing"),
        layers_in_a_process(path) as write,
    ):
        write(ROWS.to_reader(), {"layer": "rows"})


def test_a_fault_of_the_writer_ends_the_process(tmp_path: Path) -> None:
    def broken() -> object:
        yield ROWS.to_batches()[0]
        raise ValueError("no more rows")

    with pytest.raises(ValueError, match="no more rows"), layers_in_a_process(tmp_path / "a.gpkg") as write:
        write(pa.RecordBatchReader.from_batches(ROWS.schema, broken()), {"layer": "rows"})


def test_problems_are_asked_for_when_their_layer_comes(made_up: Screening, tmp_path: Path) -> None:
    lot = str(made_up.tables["lots"]["lot_id"].iloc[0])
    row = {"layer": "sheets", "feature": lot, "problem": "No plan.", "done": "left out"}
    asked = []

    def problems() -> list[dict[str, str]]:
        asked.append(True)
        return [row]

    write_geopackage(made_up, tmp_path / "a.gpkg", problems)
    given = write_geopackage(made_up, tmp_path / "b.gpkg", [row])
    assert asked == [True]
    assert dump(tmp_path / "a.gpkg") == dump(given)
    assert "No plan." in "\n".join(dump(given))
