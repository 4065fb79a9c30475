"""Neighbourhood screening for rain gardens.

Screen an area from Python::

    import screening

    read = screening.read_area("area.toml")
    result = screening.screen(read.area, read.rules)
    result.first(5)  # the first five lots to approach
    screening.write_outputs(result, "results")

The way of the data, which is also the order of imports (a room imports only rooms to its left)::

    errors units fields rules grid sources area  <-  inputs  <-  terrain soils roofs  <-  siting  <-  water
        <-  ranking  <-  streets  <-  season  <-  blocks outputs  <-  pipeline  <-  cli

Names are imported when first used, so that ``import screening`` is quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from screening.area import Area
    from screening.errors import BadInput, Fault, ScreeningError
    from screening.grid import Grid
    from screening.inputs import area_from_layers
    from screening.outputs import write_outputs
    from screening.pipeline import read_area, run_area, screen
    from screening.result import Screening
    from screening.rules import Rules

__version__ = "0.1.0"

__all__ = [
    "Area",
    "BadInput",
    "Fault",
    "Grid",
    "Rules",
    "Screening",
    "ScreeningError",
    "__version__",
    "area_from_layers",
    "read_area",
    "run_area",
    "screen",
    "write_outputs",
]

_HOMES = {
    "Area": "area",
    "BadInput": "errors",
    "Fault": "errors",
    "Grid": "grid",
    "Rules": "rules",
    "Screening": "result",
    "ScreeningError": "errors",
    "area_from_layers": "inputs",
    "read_area": "pipeline",
    "run_area": "pipeline",
    "screen": "pipeline",
    "write_outputs": "outputs",
}


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(f"screening.{_HOMES[name]}"), name)
    raise AttributeError(f"module 'screening' has no attribute {name!r}")
