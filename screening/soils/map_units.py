"""Map units with group, chances, conductivity, water table and bedrock, from plain polygons or survey tables."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd

from screening.area import SoilMap
from screening.errors import BadInput, Fault
from screening.rules import Rules
from screening.soils.groups import CHANCE_COLUMNS, UNKNOWN, clean_labels, mapped_chances

__all__ = ["from_groups"]

_DEPTHS = ("ksat_um_s", "water_table_m", "bedrock_m")


def from_groups(polygons: gpd.GeoDataFrame, group_column: str, rules: Rules) -> SoilMap:
    """Soil map of plain polygons with a group column.

    Parameters
    ----------
    polygons
        Polygons in the working CRS. Columns ``ksat_um_s``, ``water_table_m`` and ``bedrock_m`` are taken where there.
    group_column
        Column with the groups: A, B, C, D, A/D, B/D, C/D; anything else is unknown.
    rules
        ``soil_map_purity`` and ``dual_group_drained``.

    Raises
    ------
    BadInput
        When there is no such column, or no polygon has a group in it.
    """
    if group_column not in polygons.columns:
        raise BadInput([Fault(f"no column {group_column!r}", "name the column with the soil group", layer="soils")])
    labels = clean_labels(polygons[group_column])
    if len(labels) and set(labels) == {UNKNOWN}:
        fault = f"no value of column {group_column!r} is a soil group (A, B, C, D, A/D, B/D or C/D)"
        raise BadInput([Fault(fault, "name the column with the soil group", layer="soils")])
    rows = pd.DataFrame({"hsg": labels})
    for name in _DEPTHS:
        given = polygons[name] if name in polygons.columns else np.full(len(rows), np.nan)
        rows[name] = pd.to_numeric(pd.Series(np.asarray(given)), errors="coerce").astype(np.float64)
    keys = [_unit_key(row) for row in rows.itertuples(index=False)]
    rows.index = pd.Index(keys, name="unit", dtype=object)
    units = rows[~rows.index.duplicated()].sort_index()
    units.insert(0, "name", "Soil group " + units["hsg"].astype(object))
    units.insert(2, "source", np.where(units["hsg"] == UNKNOWN, "none", "survey").astype(object))
    chances = mapped_chances(units["hsg"], rules)
    for column, name in enumerate(CHANCE_COLUMNS):
        units.insert(3 + column, name, chances[:, column])
    frame = gpd.GeoDataFrame({"unit": keys}, geometry=polygons.geometry.to_numpy(), crs=polygons.crs)
    return SoilMap(frame, units)


def _unit_key(row: tuple[object, ...]) -> str:
    """Key of a unit: its group, and the depths where they are given."""
    label, *numbers = row
    given = [f"{name} {number:g}" for name, number in zip(_DEPTHS, numbers, strict=True) if not pd.isna(number)]
    return ", ".join([str(label), *given])
