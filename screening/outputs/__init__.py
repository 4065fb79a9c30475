"""Outputs: the map, the tables, the rasters and the record. They read a result and change nothing in it.

``write_outputs`` is imported when first used: what only reads a run back need not load what draws one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from screening.outputs.everything import write_outputs

__all__ = ["write_outputs"]


def __getattr__(name: str) -> Any:
    if name == "write_outputs":
        from screening.outputs.everything import write_outputs

        return write_outputs
    raise AttributeError(f"module 'screening.outputs' has no attribute {name!r}")
