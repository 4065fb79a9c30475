"""Raster layers that a run writes or draws."""

from __future__ import annotations

from screening.fields.field import Field

__all__ = ["LAYERS"]

# fmt: off
LAYERS: tuple[Field, ...] = (
    Field("slope_pct", "number", "%", 0, "terrain", "Slope at the stated scale; its file holds it to 1/64."),
    Field("flow_direction", "integer", "E1 SE2 S4 SW8 W16 NW32 N64 NE128", 0, "terrain", "Way to the neighbour that water runs to; 0 where it leaves."),
    Field("accumulation_cells", "integer", "cells", 0, "terrain", "Cells upslope, the cell itself counted."),
    Field("hollow_depth_m", "number", "m", 0, "terrain", "Depth of natural hollows before carving; its file holds it to 1/1024."),
    Field("carved_m", "number", "m", 0, "terrain", "How deep the way out of a hollow was cut for routing."),
)
