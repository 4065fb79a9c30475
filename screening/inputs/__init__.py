"""Inputs: the area file and everything it names, read, repaired and in the working CRS."""

from __future__ import annotations

from screening.inputs.from_layers import area_from_layers
from screening.inputs.read_parts import RainFile, ReadArea, Reading, StormWanted
from screening.inputs.reading import inspect_area, read_area
from screening.inputs.soils_file import RawSoils

__all__ = [
    "RainFile",
    "RawSoils",
    "ReadArea",
    "Reading",
    "StormWanted",
    "area_from_layers",
    "inspect_area",
    "read_area",
]
