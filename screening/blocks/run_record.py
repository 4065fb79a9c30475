"""What was run on what: the record of a run, the same for equal runs."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.metadata import version
from typing import Any, Final

from screening import __version__
from screening.area import Area, AreaContext
from screening.places import first_lots

__all__ = ["run_record"]

LIBRARIES: Final = ("geopandas", "numba", "numpy", "pandas", "pyogrio", "pyproj", "rasterio", "shapely")


def run_record(area: Area, context: AreaContext, tables: Mapping[str, Any]) -> dict[str, Any]:
    """What was run on what, without times."""
    lots = tables["lots"]
    places = first_lots(lots)
    read = {**{name: len(layer) for name, layer in area.layers.items()}, "lots": len(lots)}
    grid = area.elevation
    return {
        "program": {"screening": __version__, **{name: version(name) for name in LIBRARIES}},
        "inputs": dict(sorted(area.files.items())),
        "crs": {"working": area.crs.to_string(), "output": area.output_crs.to_string(), "unit_m": area.unit_m},
        "elevation": {
            "rows": grid.shape[0],
            "columns": grid.shape[1],
            "cell_x_m": grid.cell_x_m,
            "cell_y_m": grid.cell_y_m,
            "height_factor": grid.height_factor,
            "cells_without_height": int((~grid.valid).sum()),
        },
        "counts": {
            "lots": len(lots),
            "places": len(places),
            **{verdict: int(count) for verdict, count in sorted(places["verdict"].value_counts().items())},
            "layers": dict(sorted(read.items())),
            "problems": len(tables["problems"]),
        },
        "rules": context.rules.model_dump(),
        "rules_by_lot": {lot: dict(given) for lot, given in sorted(context.own_rules.items())},
        **({"background": area.background.record()} if area.background else {}),
        "notes": [{"kind": note.kind, "layer": note.layer, "text": note.text} for note in context.notes],
    }
