from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from screening.outputs.record import write_record, write_timings
from screening.result import Screening


def test_the_record_holds_rules_notes_and_what_the_run_told(made_up: Screening, written: dict[str, Path]) -> None:
    record = json.loads(written["run"].read_text(encoding="utf-8"))
    assert record["title"] == "Made-up neighbourhood"
    assert record["counts"] == {"lots": 30}
    assert record["rules"]["slope_limit_pct"] == made_up.rules.slope_limit_pct
    assert record["notes"][0] == {
        "kind": "missing",
        "layer": "trees",
        "text": "Trees unknown: no tree layer was given.",
    }
    assert written["run"].read_bytes().endswith(b"}\n")


def test_numbers_that_json_lacks_are_refused(made_up: Screening, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="JSON"):
        write_record(replace(made_up, record={"share": float("nan")}), tmp_path / "run.json")


def test_times_stand_apart(written: dict[str, Path], tmp_path: Path) -> None:
    assert "timings" not in written
    path = write_timings({"threads": 2, "processor_s": {"search": 1.23456}}, tmp_path)
    assert path == tmp_path / "timings.json"
    assert json.loads(path.read_text()) == {"threads": 2, "processor_s": {"search": 1.235}}
    assert [found.name for found in tmp_path.iterdir()] == ["timings.json"]
