"""Soil map of an area from the polygons and survey tables that were read."""

from __future__ import annotations

from collections.abc import Mapping

import geopandas as gpd
import numpy as np
import pandas as pd

from screening.area import Note, SoilMap
from screening.rules import Rules
from screening.soils.groups import strange_labels
from screening.soils.map_units import from_groups, map_units

__all__ = ["soil_map"]


def soil_map(
    polygons: gpd.GeoDataFrame, tables: Mapping[str, pd.DataFrame], rules: Rules
) -> tuple[SoilMap, tuple[Note, ...]]:
    """Join polygons with the map units of the survey's tables.

    Parameters
    ----------
    polygons
        Working CRS. Columns ``mukey`` and ``group``, and where given ``name``, ``ksat_um_s``, ``water_table_m`` and
        ``bedrock_m``.
    tables
        Survey tables as ``map_units`` takes them; empty without an export.
    rules
        The programme's rules.

    Returns
    -------
    soil_map
        A polygon whose key the tables know has its map unit; any other has what its own columns say.
    notes
        Keys that found no map unit, and map units listed twice.

    Raises
    ------
    BadInput
        When the polygons say neither group nor conductivity and no tables are given.
    """
    if not tables:
        plain, odd = from_groups(polygons, "group", rules), strange_labels(polygons["group"])
        told = f"group: {odd} not understood, taken as unknown. Known: A, B, C, D, A/D, B/D, C/D."
        return plain, (Note("caution", told, "soils"),) if odd else ()
    units = map_units(tables, rules)
    keys = pd.Series(polygons["mukey"], dtype=object).fillna("").astype(str).to_numpy()
    joined = np.isin(keys.astype(object), units.index.to_numpy())
    notes = _notes(keys[~joined], tables)
    unit = keys.astype(object)
    if not joined.all():
        rest = from_groups(polygons[~joined], "group", rules, least_groups=0)
        unit[~joined] = rest.polygons["unit"].to_numpy()
        units = pd.concat([units, rest.units])
    frame = gpd.GeoDataFrame({"unit": unit}, geometry=polygons.geometry.to_numpy(), crs=polygons.crs)
    return SoilMap(frame, units), notes


def _notes(left_over: np.ndarray, tables: Mapping[str, pd.DataFrame]) -> tuple[Note, ...]:
    notes = []
    if len(left_over):
        named = ", ".join(repr(str(key)) for key in np.unique(left_over)[:5])
        text = f"{len(left_over)} soil polygons have a key that the survey's tables lack: {named}"
        notes.append(Note("missing", text, "soils"))
    for name in ("mapunit", "muaggatt"):
        doubled = tables[name]["mukey"].duplicated().sum() if name in tables else 0
        if doubled:
            notes.append(Note("repair", f"{doubled} repeated map units in table {name} were left out", "soils"))
    return tuple(notes)
