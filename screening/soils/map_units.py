"""Map units with group, chances, conductivity, water table and bedrock, from plain polygons or survey tables."""

from __future__ import annotations

from typing import Final

import geopandas as gpd
import numpy as np
import pandas as pd

from screening.area import SoilMap
from screening.errors import BadInput, Fault
from screening.rules import Rules
from screening.soils.components import DISTURBED, SurveyTables, component_facts, numbers
from screening.soils.groups import (
    CHANCE_COLUMNS,
    LABELS,
    UNKNOWN,
    clean_labels,
    group_number,
    mapped_chances,
    strange_labels,
)

__all__ = ["from_groups", "map_units"]

UNIT_COLUMNS: Final = ("name", "hsg", "source", *CHANCE_COLUMNS, "ksat_um_s", "water_table_m", "bedrock_m")
"""Columns of ``SoilMap.units``, in order."""
_DEPTHS = ("ksat_um_s", "water_table_m", "bedrock_m")


def from_groups(polygons: gpd.GeoDataFrame, group_column: str, rules: Rules, *, least_groups: int = 1) -> SoilMap:
    """Soil map of plain polygons with a group column.

    Parameters
    ----------
    polygons
        Polygons in the working CRS. Columns ``name``, ``ksat_um_s``, ``water_table_m`` and ``bedrock_m`` are taken
        where there.
    group_column
        Column with the groups: A, B, C, D, A/D, B/D, C/D; anything else is unknown.
    rules
        ``soil_map_purity`` and ``dual_group_drained``.
    least_groups
        Polygons that must have a group or a conductivity.

    Raises
    ------
    BadInput
        When there is no such column, or too few polygons have a group in it.
    """
    if group_column not in polygons.columns:
        raise BadInput(
            [Fault(f"There is no column {group_column!r}", "Name the column with the soil group", layer="soils")]
        )
    labels = clean_labels(polygons[group_column])
    rows = pd.DataFrame({"name": _names(polygons, labels), "hsg": labels})
    for name in _DEPTHS:
        given = polygons[name] if name in polygons.columns else np.full(len(rows), np.nan)
        rows[name] = numbers(pd.Series(np.asarray(given, dtype=object))).to_numpy()
    told = (rows["hsg"] != UNKNOWN) | rows["ksat_um_s"].notna()
    if len(rows) and told.sum() < least_groups:
        found = strange_labels(polygons[group_column])
        fault = f"No value of column {group_column!r} is a soil group (A, B, C, D, A/D, B/D or C/D); found: {found}"
        raise BadInput([Fault(fault, "Name the column with the soil group", layer="soils")])
    keys = [_unit_key(row) for row in rows.itertuples(index=False)]
    rows.index = pd.Index(keys, name="unit", dtype=object)
    units = rows[~rows.index.duplicated()].sort_index()
    units["source"] = np.where(units["hsg"] == UNKNOWN, "none", "survey").astype(object)
    units[list(CHANCE_COLUMNS)] = mapped_chances(units["hsg"], rules)
    frame = gpd.GeoDataFrame({"unit": keys}, geometry=polygons.geometry.to_numpy(), crs=polygons.crs)
    return SoilMap(frame, units[list(UNIT_COLUMNS)])


def _names(polygons: gpd.GeoDataFrame, labels: list[str]) -> list[str]:
    """Name of each polygon's soil: its own, else its group's."""
    given = polygons["name"] if "name" in polygons.columns else [None] * len(labels)
    return [f"soil group {label}" if pd.isna(name) else str(name) for name, label in zip(given, labels, strict=True)]


def _unit_key(row: tuple[object, ...]) -> str:
    """Key of a unit: its name and group, and the numbers where they are given."""
    name, label, *given = row
    told = [f"{column} {number:g}" for column, number in zip(_DEPTHS, given, strict=True) if not pd.isna(number)]
    return ", ".join([str(name), str(label), *told])


def map_units(tables: SurveyTables, rules: Rules) -> pd.DataFrame:
    """Map units of a survey, for ``SoilMap.units``.

    Parameters
    ----------
    tables
        Survey tables by their names, with the survey's column names in lower case: ``component``, ``muaggatt`` or both;
        ``mapunit``, ``chorizon``, ``corestrictions``, ``comonth`` and ``cosoilmoist`` where there are any.
    rules
        The bed's depths, ``dual_group_drained`` and, where there are no components, ``soil_map_purity``.

    Returns
    -------
    pandas.DataFrame
        Index ``unit`` (the map unit's key as text, sorted), columns ``UNIT_COLUMNS``. The label is the survey's own
        dominant condition where it gives one, else the group with most of the components by percent (of equals the one
        that takes less water). Chances are the components' percentages. Ground that is made, moved or under water is
        unknown when no group holds more of the unit. Conductivity, water table and bedrock are those of the largest
        component of the label; the survey's summary by map unit stands in for depths where it has no such tables.

    Raises
    ------
    BadInput
        When neither ``component`` nor ``muaggatt`` is given.
    """
    if "component" not in tables and "muaggatt" not in tables:
        fault = "The survey's tables hold neither components nor map unit summaries"
        raise BadInput([Fault(fault, "Give the whole tabular folder of the export", layer="soils")])
    names = _unit_names(tables)
    summary = _summaries(tables).reindex(names.index)
    if "component" in tables:
        units = _from_components(component_facts(tables, rules), summary, rules)
    else:
        units = _from_summaries(summary, names, rules)
    for column, table in (("water_table_m", "cosoilmoist"), ("bedrock_m", "corestrictions")):
        if "component" not in tables or table not in tables:
            units[column] = summary[column]
    units["name"] = names
    return units[list(UNIT_COLUMNS)]


def _unit_names(tables: SurveyTables) -> pd.Series:
    """Name of each map unit by its key, sorted; a unit that only the components know is named by its key."""
    keys: set[str] = set()
    for table in ("mapunit", "muaggatt", "component"):
        if table in tables:
            keys |= set(tables[table]["mukey"].astype(str))
    index = pd.Index(sorted(keys), name="unit", dtype=object)
    names = pd.Series(index, index=index, dtype=object)
    for table in ("muaggatt", "mapunit"):
        if table in tables and "muname" in tables[table]:
            given = tables[table].drop_duplicates("mukey")
            given = pd.Series(given["muname"].to_numpy(), index=given["mukey"].astype(str), dtype=object)
            names = given.reindex(index).fillna(names)
    return names


def _summaries(tables: SurveyTables) -> pd.DataFrame:
    """Dominant group and depths of each map unit as the survey sums them up; empty where it does not."""
    if "muaggatt" not in tables:
        return pd.DataFrame({"label": [], "water_table_m": [], "bedrock_m": []}, index=pd.Index([], dtype=object))
    table = tables["muaggatt"].drop_duplicates("mukey")
    return pd.DataFrame(
        {
            "label": clean_labels(table["hydgrpdcd"]),
            "water_table_m": numbers(table["wtdepannmin"]).to_numpy() / 100.0,
            "bedrock_m": numbers(table["brockdepmin"]).to_numpy() / 100.0,
        },
        index=pd.Index(table["mukey"].astype(str), dtype=object),
    )


def _from_summaries(summary: pd.DataFrame, names: pd.Series, rules: Rules) -> pd.DataFrame:
    disturbed = np.array([bool(DISTURBED.match(str(name))) for name in names], dtype=bool)
    labels = summary["label"].astype(object).fillna(UNKNOWN).where(~disturbed, UNKNOWN)
    units = pd.DataFrame(mapped_chances(labels, rules), index=summary.index, columns=list(CHANCE_COLUMNS))
    source = np.where(labels == UNKNOWN, "none", "survey")
    return units.assign(hsg=labels, source=source.astype(object), ksat_um_s=np.nan)


def _from_components(facts: pd.DataFrame, summary: pd.DataFrame, rules: Rules) -> pd.DataFrame:
    share = _component_shares(facts)
    slowest_first = facts["label"].map({label: -number for number, label in enumerate(LABELS)})
    by_label = share.groupby([facts["mukey"], facts["label"]]).sum().unstack(fill_value=0.0)
    by_label = by_label.reindex(index=summary.index, columns=list(LABELS), fill_value=0.0)
    disturbed = share.where(facts["disturbed"], 0.0).groupby(facts["mukey"]).sum().reindex(summary.index).fillna(0.0)
    label = _dominant(by_label, summary["label"], disturbed)
    order = facts.assign(share=share, slow=slowest_first).reset_index()
    order = order.sort_values(["mukey", "share", "slow", "cokey"], ascending=[True, False, True, True])
    largest = order[order["label"] == order["mukey"].map(label)].drop_duplicates("mukey").set_index("mukey")
    largest = largest.reindex(summary.index)
    chances = np.zeros((len(by_label), 5))
    for name, number in zip(LABELS, group_number(LABELS, drained=rules.dual_group_drained), strict=True):
        chances[:, number] += by_label[name].to_numpy()  # -1, unknown, is the last
    chances[:, 4] += 1.0 - chances.sum(axis=1)
    units = pd.DataFrame(chances, index=summary.index, columns=list(CHANCE_COLUMNS))
    surveyed = (summary["label"] == label) & (label != UNKNOWN)
    source = largest["source"].astype(object).fillna("none").where(~surveyed, "survey")
    return units.assign(hsg=label, source=source, **{name: largest[name] for name in _DEPTHS})


def _component_shares(facts: pd.DataFrame) -> pd.Series:
    """Share of each component in its map unit: its percentage, of at most 1 in sum.

    Components without a percentage share what the others leave.
    """
    percent = facts["percent"].clip(lower=0.0)
    total = percent.groupby(facts["mukey"]).transform("sum")
    missing = percent.isna().groupby(facts["mukey"]).transform("sum")
    filled = percent.fillna((100.0 - total).clip(lower=0.0) / missing.clip(lower=1))
    return filled / filled.groupby(facts["mukey"]).transform("sum").clip(lower=100.0)


def _dominant(by_label: pd.DataFrame, surveyed: pd.Series, disturbed: pd.Series) -> pd.Series:
    """Label of each map unit: the survey's own, else the largest share; unknown where disturbed ground has most."""
    groups = by_label[[label for label in LABELS[::-1] if label != UNKNOWN]]  # the slower first among equals
    largest = groups.idxmax(axis=1).where(groups.max(axis=1) > 0, UNKNOWN)
    unknown = by_label[UNKNOWN] > groups.max(axis=1)
    label = largest.where(~unknown, UNKNOWN)
    own = surveyed.astype(object).fillna(UNKNOWN)
    return label.where(own == UNKNOWN, own).where(disturbed <= groups.max(axis=1), UNKNOWN).astype(object)
