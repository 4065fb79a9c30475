"""True soils: lines that lie elsewhere than mapped, a component on each lot, and how fast it takes water.

The map's line is off by a uniform error within ``soil_line_error_m``; a component has the chance of its percentage; its
conductivity is that of its horizons under the bed, divided on built ground, times a lognormal factor with the rules'
spread, of which a part is common to the map unit and the rest alike within some hundred metres.
"""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.area import SoilMap
from screening.rules import Rules
from scripts.truths.fields import gaussian_field, uniform_field

__all__ = ["true_soils"]

LINE_RANGE_M = 120.0
"""Distance over which a line's error changes its sign."""


def true_soils(
    mapped: SoilMap, components: pd.DataFrame, lots: gpd.GeoDataFrame, rules: Rules, random: np.random.Generator
) -> SoilMap:
    """Draw the soil of each lot.

    Parameters
    ----------
    mapped
        The soil map on file.
    components
        ``mukey``, ``percent``, ``label``, ``ksat_um_s``, ``water_table_m``, ``bedrock_m`` of each component.
    lots
        ``lot_id`` and polygons.
    rules
        What the tool holds the errors to be.
    random
        The truth's own numbers.
    """
    middle = lots.geometry.representative_point()
    x, y = middle.x.to_numpy(), middle.y.to_numpy()
    at = _Sheet(x, y)
    shift = rules.soil_line_error_m
    moved_x = x + shift * at.read(uniform_field(at.shape, LINE_RANGE_M / at.STEP_M, random))
    moved_y = y + shift * at.read(uniform_field(at.shape, LINE_RANGE_M / at.STEP_M, random))
    unit = _unit_at(mapped, moved_x, moved_y)
    part = _components_drawn(components, unit, random)
    rough = at.read(gaussian_field(at.shape, rules.soil_correlation_range_m / at.STEP_M, random))
    common = pd.Series(random.standard_normal(len(mapped.units)), index=mapped.units.index).reindex(unit).to_numpy()
    share = rules.soil_unit_correlation
    factor = rules.infiltration_spread ** (np.sqrt(share) * common + np.sqrt(1.0 - share) * rough)
    rows = components.iloc[part].reset_index(drop=True)
    urban = rows["label"].to_numpy() == "unknown"
    rows.loc[urban, ["label", "ksat_um_s"]] = _made_ground(int(urban.sum()), rules, random)
    keys = lots["lot_id"].astype(object).to_numpy()
    group = rows["label"].astype(str).str[-1].to_numpy()
    units = pd.DataFrame(
        {
            "name": "drawn",
            "hsg": rows["label"].to_numpy(dtype=object),
            "source": "survey",
            **{f"chance_{letter.lower()}": (group == letter).astype(float) for letter in "ABCD"},
            "chance_unknown": 0.0,
            "ksat_um_s": rows["ksat_um_s"].to_numpy(dtype=float) * factor,
            "water_table_m": rows["water_table_m"].to_numpy(dtype=float),
            "bedrock_m": rows["bedrock_m"].to_numpy(dtype=float),
        },
        index=pd.Index(keys, name="unit"),
    )
    polygons = gpd.GeoDataFrame({"unit": keys}, geometry=lots.geometry.to_numpy(), crs=lots.crs)
    return SoilMap(polygons, units)


class _Sheet:
    """A coarse raster under some places, to read smooth fields from."""

    STEP_M = 5.0

    def __init__(self, x: NDArray[np.float64], y: NDArray[np.float64]) -> None:
        self.column = ((x - x.min()) / self.STEP_M).astype(np.int64)
        self.row = ((y.max() - y) / self.STEP_M).astype(np.int64)
        self.shape = (int(self.row.max()) + 1, int(self.column.max()) + 1)

    def read(self, field: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(field[self.row, self.column])


def _unit_at(mapped: SoilMap, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.object_]:
    places = gpd.GeoDataFrame(geometry=gpd.points_from_xy(x, y), crs=mapped.polygons.crs)
    found = gpd.sjoin_nearest(places, mapped.polygons[["unit", "geometry"]], how="left")
    return found[~found.index.duplicated()]["unit"].to_numpy(dtype=object)


def _components_drawn(
    components: pd.DataFrame, unit: NDArray[np.object_], random: np.random.Generator
) -> NDArray[np.int64]:
    """Row of the component of each place, each with the chance of its percentage."""
    part = np.zeros(len(unit), dtype=np.int64)
    draw = random.random(len(unit))
    for key in np.unique(unit.astype(str)):
        rows = np.flatnonzero(components["mukey"].to_numpy() == key)
        upto = np.cumsum(components["percent"].to_numpy(dtype=float)[rows])
        here = np.flatnonzero(unit == key)
        part[here] = rows[np.minimum(np.searchsorted(upto / upto[-1], draw[here], side="right"), len(rows) - 1)]
    return part


def _made_ground(count: int, rules: Rules, random: np.random.Generator) -> NDArray[np.object_]:
    """Group and conductivity before division of ground that no survey describes: any group, its design value."""
    letter = random.integers(0, 4, count)
    design = [getattr(rules, f"infiltration_{name}_mm_h") for name in "abcd"]
    out = np.empty((count, 2), dtype=object)
    out[:, 0] = np.array(list("ABCD"))[letter]
    out[:, 1] = np.array(design)[letter] / 3.6 * rules.built_lot_divisor
    return out
