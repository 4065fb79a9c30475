"""The run record as JSON."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from screening.outputs.write import write_text
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


def write_timings(timings: Mapping[str, float], path: Path) -> Path:
    """Write ``timings.json``: seconds by stage, apart from the record, which is the same for equal runs."""
    rounded = {name: round(seconds, 3) for name, seconds in timings.items()}
    return write_text(path, json.dumps(rounded, indent=2) + "\n")
