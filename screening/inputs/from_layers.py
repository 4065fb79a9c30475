"""Make an area from tables and arrays in memory."""

from __future__ import annotations

from collections.abc import Mapping

import geopandas as gpd
import pandas as pd
from pyproj import CRS

from screening.area import FOUND_COLUMNS, LAYER_COLUMNS, Area, SoilMap
from screening.errors import BadInput
from screening.grid import Grid
from screening.inputs.area_file import NEEDED
from screening.inputs.findings import Findings
from screening.inputs.known_keys import known_list
from screening.inputs.layers import finished_layer, reach_of
from screening.inputs.missing_layers import tell_missing
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
    crs = _checked_crs(elevation, surface, findings)
    finished = _finished({"lots": lots, "roofs": roofs, **layers}, elevation, crs, findings)
    beside = {"soils": soils, "surface": surface, "rainfall": rain, "field": field_results}
    tell_missing({*finished, *(name for name, value in beside.items() if value is not None)}, findings)
    findings.raise_faults()
    return Area(
        title=title,
        crs=crs,
        output_crs=crs,
        unit_m=1.0,
        elevation=elevation,
        layers=finished,
        surface=surface,
        soils=soils,
        rain=rain,
        field_results=field_results,
        problems=findings.problem_table(crs),
        notes=tuple(dict.fromkeys(findings.notes)),
    )


def _finished(
    layers: Mapping[str, gpd.GeoDataFrame], elevation: Grid, crs: CRS, findings: Findings
) -> dict[str, gpd.GeoDataFrame]:
    """Each layer as files of it would come out."""
    finished: dict[str, gpd.GeoDataFrame] = {}
    for name, frame in layers.items():
        if name not in LAYER_COLUMNS:
            findings.fault(f"Unknown layer {name!r}", known_list(name, LAYER_COLUMNS))
            continue
        if frame.crs is None:
            findings.fault("The layer has no CRS", "Give it one with set_crs", layer=name)
            continue
        given = [column for column in LAYER_COLUMNS[name] if column not in FOUND_COLUMNS]
        kept = frame[[column for column in given if column in frame.columns]]
        plain = gpd.GeoDataFrame(kept.reset_index(drop=True), geometry=frame.geometry.array, crs=frame.crs)
        placed = in_working_crs(plain, crs, findings, layer=name)
        if placed is None:
            continue
        reach = reach_of(elevation.bounds_m, finished.get("lots"))
        finished[name], _ = finished_layer(placed, name, elevation.bounds_m, findings, reach=reach)
        if name in NEEDED and finished[name].empty:
            findings.fault(f"No {name} are left to screen", "Check the layer", layer=name)
    return finished


def _checked_crs(elevation: Grid, surface: Grid | None, findings: Findings) -> CRS:
    """The CRS of the elevation, which must be in metres; the surface must lie on its cells."""
    if surface is not None and (surface.shape, surface.transform) != (elevation.shape, elevation.transform):
        findings.fault("The surface is not on the cells of the elevation", "Resample it", layer="surface")
    if elevation.crs is None:
        findings.fault("The elevation has no CRS", "Give Grid its crs", layer="elevation")
    elif linear_unit_m(elevation.crs) != 1.0:
        findings.fault(
            f"The elevation's CRS ({elevation.crs.name}) is not projected in metres",
            "Bring it to one that is, or read it from a file, which is warped where needed",
            layer="elevation",
        )
    if findings.faults or elevation.crs is None:
        raise BadInput(findings.faults)
    return elevation.crs
