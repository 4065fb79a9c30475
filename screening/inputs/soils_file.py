"""Soil polygons and the survey tables that go with them, before they become map units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import geopandas as gpd
import pandas as pd

from screening.grid import Grid
from screening.inputs.area_file import AreaFile
from screening.inputs.findings import Findings

__all__ = ["RawSoils", "read_soils"]


@dataclass(frozen=True, eq=False)
class RawSoils:
    """Soils as read.

    Parameters
    ----------
    polygons
        In the working CRS, only what lies on the elevation: ``mukey``, ``musym``, ``name`` and ``group`` (text),
        ``ksat_um_s``, ``water_table_m`` and ``bedrock_m`` (Float64), geometry; missing where not given.
    tables
        Tables of the survey export with their standard column names, by their standard names (``mapunit``,
        ``component``, ``chorizon``, ``muaggatt``, ``corestrictions``, ``cosoilmoist``, ...); empty without an export.
    """

    polygons: gpd.GeoDataFrame
    tables: Mapping[str, pd.DataFrame] = field(default_factory=dict)


def read_soils(file: AreaFile, grid: Grid | None, findings: Findings, opened: list[str]) -> RawSoils | None:
    """Read ``[soils]``."""
    return None
