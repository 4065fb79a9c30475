"""Make an area from tables and arrays in memory."""

from __future__ import annotations

from typing import Any

import geopandas as gpd
import pandas as pd

from screening.area import LAYER_COLUMNS, Area, SoilMap
from screening.grid import Grid
from screening.inputs.findings import Findings
from screening.inputs.known_keys import known_list
from screening.inputs.layers import finished_layer
from screening.inputs.missing_layers import COSTS
from screening.inputs.placing import in_working_crs
from screening.inputs.working_crs import linear_unit_m, network_off

__all__ = ["area_from_layers"]


def area_from_layers(
    elevation: Grid,
    lots: gpd.GeoDataFrame,
    roofs: gpd.GeoDataFrame,
    *,
    title: str = "",
    surface: Grid | None = None,
    soils: SoilMap | None = None,
    rain: pd.DataFrame | None = None,
    field_results: pd.DataFrame | None = None,
    **layers: gpd.GeoDataFrame,
) -> Area:
    """Make an area from tables and arrays, normalised as those read from files are.

    Parameters
    ----------
    elevation
        Heights in a projected CRS in metres.
    lots, roofs
        Polygons; columns named as in ``LAYER_COLUMNS``, others are left out. Lots need ``lot_id``.
    title
        The area's title.
    surface
        A surface raster on the cells of ``elevation``.
    soils, rain, field_results
        As ``Area`` has them.
    **layers
        Other vector layers by their names in ``LAYER_COLUMNS``, each with a CRS.

    Returns
    -------
    Area
        The area, in the CRS of ``elevation``.

    Raises
    ------
    BadInput
        With every fault found.
    """
    network_off()
    findings = Findings()
    _check_grids(elevation, surface, findings)
    findings.raise_faults()
    crs: Any = elevation.crs
    finished: dict[str, gpd.GeoDataFrame] = {}
    for name, frame in {"lots": lots, "roofs": roofs, **layers}.items():
        if name not in LAYER_COLUMNS:
            findings.fault(f"Unknown layer {name!r}", known_list(name, LAYER_COLUMNS))
            continue
        if frame.crs is None:
            findings.fault("The layer has no CRS", "Give it one with set_crs", layer=name)
            continue
        kept = frame[[column for column in LAYER_COLUMNS[name] if column in frame.columns and column != "place"]]
        plain = gpd.GeoDataFrame(kept.reset_index(drop=True), geometry=frame.geometry.array, crs=frame.crs)
        placed = in_working_crs(plain, crs, findings, layer=name)
        if placed is not None:
            finished[name], _ = finished_layer(placed, name, elevation.bounds_m, findings)
    for name, value in (("soils", soils), ("surface", surface), ("rainfall", rain), ("field", field_results)):
        if value is not None:
            finished.setdefault(name, value)
    for name, cost in COSTS.items():
        if name not in finished:
            findings.note("missing", f"No {name} given: {cost}.", name)
    findings.raise_faults()
    return Area(
        title=title,
        crs=crs,
        output_crs=crs,
        unit_m=1.0,
        elevation=elevation,
        layers={name: frame for name, frame in finished.items() if name in LAYER_COLUMNS},
        surface=surface,
        soils=soils,
        rain=rain,
        field_results=field_results,
        problems=findings.problem_table(crs),
        notes=tuple(dict.fromkeys(findings.notes)),
    )


def _check_grids(elevation: Grid, surface: Grid | None, findings: Findings) -> None:
    """The elevation must be in metres; the surface on its cells."""
    if elevation.crs is None:
        findings.fault("The elevation has no CRS", "Give Grid its crs", layer="elevation")
    elif linear_unit_m(elevation.crs) != 1.0:
        findings.fault(
            f"The elevation's CRS ({elevation.crs.name}) is not projected in metres",
            "Bring it to one that is, or read it from a file, which is warped where needed",
            layer="elevation",
        )
    if surface is not None and (surface.shape, surface.transform) != (elevation.shape, elevation.transform):
        findings.fault("The surface is not on the cells of the elevation", "Resample it", layer="surface")
