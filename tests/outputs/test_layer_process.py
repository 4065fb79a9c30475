from __future__ import annotations

import sqlite3
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pyarrow as pa
import pyogrio
import pytest

from screening.errors import StageFailed
from screening.outputs import geopackage
from screening.outputs.geopackage import write_geopackage
from screening.outputs.layer_process import layers_in_a_process
from screening.result import Screening

ROWS = pa.table({"name": ["a", None], "count": [1, 2]})
MANY_ROWS = pa.table({"name": ["a"] * 300_000})


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


@pytest.mark.parametrize("rows", [ROWS, MANY_ROWS])
def test_what_the_process_could_not_write_is_told(rows: pa.Table, tmp_path: Path) -> None:
    path = tmp_path / "missing" / "a.gpkg"
    with (
        pytest.raises(StageFailed, match=r"a\.gpkg could not be written: .*missing"),
        layers_in_a_process(path) as write,
    ):
        write(rows.to_reader(1_000), {"layer": "rows"})


@pytest.mark.parametrize("rows", [ROWS, MANY_ROWS])
def test_a_fault_of_the_writer_ends_the_process(rows: pa.Table, tmp_path: Path) -> None:
    def broken() -> object:
        yield from rows.to_batches(1_000)
        raise ValueError("no more rows")

    with pytest.raises(ValueError, match="no more rows"), layers_in_a_process(tmp_path / "a.gpkg") as write:
        write(pa.RecordBatchReader.from_batches(rows.schema, broken()), {"layer": "rows"})


def test_what_ranking_changes_is_asked_for_when_the_rest_is_written(made_up: Screening, tmp_path: Path) -> None:
    lot = str(made_up.tables["lots"]["lot_id"].iloc[0])
    row = {"layer": "sheets", "feature": lot, "problem": "No plan.", "done": "left out"}
    there = []

    def rest() -> tuple[Screening, list[dict[str, str]]]:
        there.extend(name for name, _ in pyogrio.list_layers(tmp_path / "a.gpkg"))
        return made_up, [row]

    lots = made_up.tables["lots"]
    unranked = lots.assign(rank=pd.array([pd.NA] * len(lots), dtype="Int64"))
    settled = {name: made_up.tables[name] for name in ("roof_pieces", "downspouts", "candidates", "leads")}
    write_geopackage(replace(made_up, tables={"lots": unranked, **settled}), tmp_path / "a.gpkg", rest)
    assert there == ["lots", *settled]
    back = pyogrio.read_dataframe(tmp_path / "a.gpkg", layer="lots")
    assert back["lot_id"].tolist() == lots["lot_id"].tolist()
    assert back["rank"].astype("Int64").equals(lots["rank"].reset_index(drop=True))
    assert lots["rank"].notna().any()
    assert "No plan." in "\n".join(dump(tmp_path / "a.gpkg"))
