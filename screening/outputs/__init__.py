"""Outputs: the map, the tables, the rasters and the record. They read a result and change nothing in it.

What writes is imported when first used: what only reads a run back need not load what draws one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from screening.outputs.everything import Writer, write_outputs, writer

__all__ = ["Writer", "write_outputs", "writer"]


def __getattr__(name: str) -> Any:
    if name in __all__:
        from screening.outputs import everything

        return getattr(everything, name)
    raise AttributeError(f"module 'screening.outputs' has no attribute {name!r}")
