"""Outputs: the map, the tables, the rasters and the record. They read a result and change nothing in it."""

from __future__ import annotations

from screening.outputs.everything import write_outputs

__all__ = ["write_outputs"]
