from __future__ import annotations

import sqlite3
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from screening.errors import BadInput
from screening.outputs.geopackage import write_geopackage
from screening.outputs.read_run import read_run
from screening.outputs.record import write_record
from screening.result import Screening


@pytest.fixture(scope="module")
def folder(made_up: Screening, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("run")
    write_geopackage(made_up, path / "lots.gpkg")
    write_record(made_up, path / "run.json")
    return path


def test_tables_come_back_as_they_were(made_up: Screening, folder: Path) -> None:
    run = read_run(folder)
    assert run.title == made_up.title
    assert run.rules == made_up.rules
    assert set(run.tables) == set(made_up.tables)
    for name, given in made_up.tables.items():
        plain = pd.DataFrame(given).drop(columns="geometry", errors="ignore")
        found = pd.DataFrame(run.tables[name]).drop(columns="geometry", errors="ignore")
        assert list(found.columns) == list(plain.columns)
        for column in plain.columns:
            assert found[column].isna().tolist() == plain[column].isna().tolist(), (name, column)
            some = plain[column].notna().to_numpy(dtype=bool)
            if plain[column].dtype == "Float64":
                assert np.allclose(
                    found[column][some].to_numpy(dtype=np.float64), plain[column][some].to_numpy(dtype=np.float64)
                )
            else:
                assert found[column][some].tolist() == plain[column][some].tolist(), (name, column)


def test_some_tables_and_rows_come_back_as_of_all(folder: Path) -> None:
    whole, some = read_run(folder), read_run(folder, {"lots": None, "candidates": "chosen = 1"})
    assert set(some.tables) == {"lots", "candidates"}
    pd.testing.assert_frame_equal(some.lots, whole.lots)
    every = whole.tables["candidates"]
    chosen = every[every["chosen"].fillna(False).astype(bool)].reset_index(drop=True)
    assert 0 < len(chosen) < len(every)
    pd.testing.assert_frame_equal(some.tables["candidates"], chosen)


def test_reading_a_run_loads_nothing_that_draws() -> None:
    code = "import sys, screening.outputs.read_run; print([m for m in ('matplotlib', 'numba') if m in sys.modules])"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"


def test_a_folder_without_results_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="No results of a run here"):
        read_run(tmp_path)


def test_columns_of_another_version_are_told(made_up: Screening, tmp_path: Path) -> None:
    write_record(made_up, tmp_path / "run.json")
    write_geopackage(made_up, tmp_path / "lots.gpkg")
    with sqlite3.connect(tmp_path / "lots.gpkg") as database:
        database.execute("alter table reasons add column newer text")
    database.close()
    with pytest.raises(BadInput, match=r"reasons has columns.*newer"):
        read_run(tmp_path)
