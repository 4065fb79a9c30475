"""Facts of each soil component of a survey: group as surveyed or derived, conductivity, water table, bedrock.

A map unit of a survey is made of components, each with its horizons, restrictive layers and months of wetness. Tables
come with the survey's own column names in lower case; keys are text.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

import numpy as np
import pandas as pd

from screening.rules import Rules
from screening.soils.groups import UNKNOWN, clean_labels
from screening.soils.table_7_1 import IMPERMEABLE_KSAT_UM_S, hydrologic_group, least_ksat

__all__ = [
    "DISTURBED",
    "RESTRICTIVE_KINDS",
    "component_facts",
    "derived_groups",
    "impermeable_depth_cm",
    "wet_depth_cm",
]

SurveyTables = Mapping[str, pd.DataFrame]

RESTRICTIVE_KINDS: Final = (
    "fragipan",
    "duripan",
    "petrocalcic",
    "ortstein",
    "petrogypsic",
    "cemented",
    "densic",
    "placic",
    "bedrock",
    "permafrost",
)
"""Words in the kind of a restriction that count as water-impermeable (the kinds of an NRCS calculation script)."""

DISTURBED: Final = re.compile(
    r"\b(urban|made|pits?|quarr(y|ies)|mined?|mines|dumps?|fill|landfills?|dams?|levees?|water|udorthents?)\b",
    re.IGNORECASE,
)
"""Names of components whose ground is made, moved or under water, so that no survey tells how it takes water."""

_HORIZON_NUMBERS = ("hzdept_r", "hzdepb_r", "ksat_r")


def numbers(column: pd.Series) -> pd.Series:
    """Column of a survey table as float64, NaN where empty."""
    return pd.to_numeric(column, errors="coerce").astype(np.float64)


def component_facts(tables: SurveyTables, rules: Rules) -> pd.DataFrame:
    """Facts of each component.

    Parameters
    ----------
    tables
        ``component``, and where there are any ``chorizon``, ``corestrictions``, ``comonth`` and ``cosoilmoist``.
    rules
        Depths of the bed: its reach is from its bottom to the clearance wanted below it.

    Returns
    -------
    pandas.DataFrame
        By ``cokey``: ``mukey``, ``name``, ``percent`` (NaN where empty), ``label``, ``source`` (survey, derived, none),
        ``disturbed``, ``ksat_um_s`` within the bed's reach, ``water_table_m`` and ``bedrock_m`` (NaN where none was
        seen).
    """
    component = tables["component"]
    keys = pd.Index(component["cokey"].astype(str), name="cokey")
    surveyed = pd.Series(clean_labels(component["hydgrp"]), index=keys, dtype=object)
    derived = derived_groups(tables).reindex(keys).astype(object).fillna(UNKNOWN)
    disturbed = pd.Series([bool(DISTURBED.search(str(name))) for name in component["compname"]], index=keys)
    label = surveyed.where(surveyed != UNKNOWN, derived).where(~disturbed, UNKNOWN)
    source = np.where(label == UNKNOWN, "none", np.where(surveyed != UNKNOWN, "survey", "derived"))
    return pd.DataFrame(
        {
            "mukey": component["mukey"].astype(str).to_numpy(),
            "name": component["compname"].to_numpy(),
            "percent": numbers(component["comppct_r"]).to_numpy(),
            "label": label,
            "source": source,
            "disturbed": disturbed,
            "ksat_um_s": _ksat_below_bed(tables, rules).reindex(keys).where(~disturbed),
            "water_table_m": wet_depth_cm(tables).reindex(keys) / 100.0,
            "bedrock_m": _restriction_depth_cm(tables, ("bedrock",)).reindex(keys) / 100.0,
        },
        index=keys,
    )


def derived_groups(tables: SurveyTables) -> pd.Series:
    """Group of each component by NEH part 630 chapter 7 table 7-1, unknown where the horizons do not allow it.

    Water tables and restrictions that the survey does not show count as not seen within the profile. A range of depth
    ends where the impermeable layer begins, whose own conductivity decides nothing more.
    """
    horizons = _horizons(tables)
    if horizons.empty:
        return pd.Series(dtype=object, index=pd.Index([], name="cokey"))
    keys = pd.Index(horizons["cokey"].unique(), name="cokey")
    impermeable = impermeable_depth_cm(tables).reindex(keys)
    ranges = {depth: impermeable.fillna(np.inf).clip(upper=depth) for depth in (50.0, 60.0, 100.0)}
    k50, k60, k100 = (least_ksat(horizons, limit).reindex(keys) for limit in ranges.values())
    group = hydrologic_group(impermeable, wet_depth_cm(tables).reindex(keys), k50, k60, k100)
    return pd.Series(group.astype(object), index=keys)


def impermeable_depth_cm(tables: SurveyTables) -> pd.Series:
    """Depth to the water-impermeable layer of each component that has one [cm].

    A restriction of one of ``RESTRICTIVE_KINDS``, or a horizon slower than 0.01 um/s.
    """
    horizons = _horizons(tables)
    slow = horizons[horizons["ksat_r"] < IMPERMEABLE_KSAT_UM_S].groupby("cokey")["hzdept_r"].min()
    restriction = _restriction_depth_cm(tables, RESTRICTIVE_KINDS)
    return pd.concat([slow, restriction]).groupby(level=0).min().rename_axis("cokey")


def wet_depth_cm(tables: SurveyTables) -> pd.Series:
    """Depth to the high water table: the shallowest wet layer of any month, of each component that has one [cm]."""
    if "comonth" not in tables or "cosoilmoist" not in tables:
        return pd.Series(dtype=np.float64, index=pd.Index([], name="cokey"))
    moist = tables["cosoilmoist"]
    wet = moist[moist["soimoiststat"].astype(str).str.lower() == "wet"]
    months = pd.Series(tables["comonth"]["cokey"].astype(str).to_numpy(), index=tables["comonth"]["comonthkey"])
    depth = pd.DataFrame(
        {"cokey": wet["comonthkey"].map(months).to_numpy(), "depth": numbers(wet["soimoistdept_r"]).to_numpy()}
    )
    return depth.groupby("cokey")["depth"].min()


def _restriction_depth_cm(tables: SurveyTables, kinds: tuple[str, ...]) -> pd.Series:
    if "corestrictions" not in tables:
        return pd.Series(dtype=np.float64, index=pd.Index([], name="cokey"))
    restrictions = tables["corestrictions"]
    kind = restrictions["reskind"].astype(str).str.lower()
    counted = np.array([any(word in text for word in kinds) for text in kind], dtype=bool)
    depth = numbers(restrictions["resdept_r"])
    if "resdept_l" in restrictions:
        depth = depth.fillna(numbers(restrictions["resdept_l"]))
    table = pd.DataFrame({"cokey": restrictions["cokey"].astype(str), "depth": depth})[counted]
    return table.groupby("cokey")["depth"].min()


def _horizons(tables: SurveyTables) -> pd.DataFrame:
    """Horizons with their numbers as float64, and their key as text."""
    if "chorizon" not in tables:
        return pd.DataFrame({"cokey": pd.Series(dtype=object), **{name: [] for name in _HORIZON_NUMBERS}})
    horizons = tables["chorizon"]
    columns = {name: numbers(horizons[name]).to_numpy() for name in _HORIZON_NUMBERS}
    return pd.DataFrame({"cokey": horizons["cokey"].astype(str).to_numpy(), **columns})


def _ksat_below_bed(tables: SurveyTables, rules: Rules) -> pd.Series:
    """Least conductivity from the bed's bottom down to the clearance wanted below it; layers above are dug out."""
    bottom_cm = (rules.ponding_depth_mm + rules.mulch_mm + rules.bed_depth_mm) / 10.0
    horizons = _horizons(tables)
    reached = horizons[(horizons["hzdepb_r"] > bottom_cm) & horizons["ksat_r"].notna()]
    reached = reached[reached["hzdept_r"] < bottom_cm + 100.0 * rules.water_table_clearance_m]
    return reached.groupby("cokey")["ksat_r"].min()
