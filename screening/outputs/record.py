"""The run record as JSON."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from screening.outputs.write import write_text, written_aside
from screening.result import Screening

__all__ = ["record_of", "write_record", "write_timings"]


def record_of(result: Screening) -> dict[str, Any]:
    """What the run record holds: the record as the run made it, with the title, the rules and the notes."""
    record: dict[str, Any] = {"title": result.title, **result.record}
    record.setdefault("rules", result.rules.model_dump())
    record.setdefault("notes", [{"kind": note.kind, "layer": note.layer, "text": note.text} for note in result.notes])
    return record


def write_record(result: Screening, path: Path) -> Path:
    """Write ``run.json``: plain JSON, keys in the order the run made them."""
    return write_text(path, json.dumps(record_of(result), ensure_ascii=False, indent=2, allow_nan=False) + "\n")


def write_timings(timings: Mapping[str, Any], out_dir: Path) -> Path:
    """Write ``timings.json``: seconds by stage, apart from the record, which is the same for equal runs."""
    with written_aside(out_dir) as aside:
        write_text(aside / "timings.json", json.dumps(_rounded(timings), indent=2) + "\n")
    return out_dir / "timings.json"


def _rounded(value: Any) -> Any:
    """Milliseconds will do."""
    if isinstance(value, Mapping):
        return {name: _rounded(inner) for name, inner in value.items()}
    return round(value, 3) if isinstance(value, float) else value
