"""Gardens as built: their water, by their own figures, apart from designs; and the season's table."""

from __future__ import annotations

from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.area import AreaContext
from screening.fields import TABLES, conform
from screening.lot_rules import rules_of
from screening.units import UM_PER_S_MM_PER_H
from screening.water.sizing import capture_depth_mm
from screening.water.storm import storm
from screening.water.year import mean_year

__all__ = ["INLET_REACH_M", "as_built_reach", "as_built_water", "season_table"]

INLET_REACH_M: Final = 300.0
"""An inlet farther off than this is not told as a garden's outfall."""

Floats = NDArray[np.float64]


def season_table(tables: Any, context: AreaContext, inlets: Any | None) -> gpd.GeoDataFrame | None:
    """Make the season's table of a run: field results by lot, built gardens with their water and their place.

    Parameters
    ----------
    tables
        The run's ``lots`` and ``candidates``.
    context
        The rules, the rain record and the field facts.
    inlets
        The layer, or None.

    Returns
    -------
    geopandas.GeoDataFrame or None
        As ``fields.TABLES["season"]``; None without field results.
    """
    if context.field is None:
        return None
    rows = context.field.lots.copy()
    lots = tables["lots"].set_index("lot_id").reindex(rows["lot_id"])
    chosen = tables["candidates"][tables["candidates"]["chosen"].fillna(False).astype(bool)]
    spots = chosen.drop_duplicates("lot_id").set_index("lot_id").reindex(rows["lot_id"])
    water = as_built_water(rows, lots, spots, context)
    for column in water.columns:
        rows[column] = water[column].to_numpy()
    points = _points(rows, lots, spots)
    rows["outfall"], rows["outfall_basis"] = _outfalls(rows, points, lots, inlets)
    rows = rows.drop(columns=["built_x_m", "built_y_m"], errors="ignore")
    table: gpd.GeoDataFrame = conform(gpd.GeoDataFrame(rows, geometry=points, crs=context.crs), TABLES["season"])
    return table


def as_built_reach(treated_m2: Floats, lot_reach: Floats, design_m2: Floats, design_reach: Floats) -> Floats:
    """Share of a built garden's water that would otherwise reach the drain.

    What is connected counts with the reach of the downspouts of the design as far as these go, and beyond with the
    reach of the whole lot.

    Parameters
    ----------
    treated_m2
        Roof and paving connected as built. [m2]
    lot_reach
        Drain reach of the lot's roof water.
    design_m2, design_reach
        Draining area of the design at the lot's spot, and its reach; NaN where there is none. [m2]
    """
    known = np.isfinite(design_m2) & np.isfinite(design_reach)
    part = np.where(known, np.minimum(treated_m2, design_m2), 0.0)
    rest = treated_m2 - part
    with np.errstate(divide="ignore", invalid="ignore"):
        shared = part * np.where(known, design_reach, 0.0) + np.where(rest > 0, rest * lot_reach, 0.0)
        return np.asarray(shared / treated_m2)


def as_built_water(rows: pd.DataFrame, lots: Any, spots: Any, context: AreaContext) -> pd.DataFrame:
    """Water of built gardens by their own figures.

    Parameters
    ----------
    rows
        ``lot_id``, and the ``built_`` columns where a garden was built.
    lots
        Rows of the lots table, in the same order: design conductivity at the spot, drain reach.
    spots
        Rows of the chosen candidates, in the same order: draining area and its drain reach, and run-on.
    context
        Storm, runoff coefficient, void fraction (the lot's own where it has one) and rain record.

    Returns
    -------
    pandas.DataFrame
        ``built_capture_depth_mm``, ``built_storm_captured_m3``, ``built_storm_kept_m3``, ``built_year_captured_m3``,
        ``built_year_kept_m3``; missing where nothing was built, the year also without a record or a conductivity. Kept
        is missing where the drain reach is not known.
    """
    rules = context.rules
    mine = [rules_of(str(lot), rules, context.own_rules) for lot in rows["lot_id"]]
    names = ("ponding_area_m2", "area_treated_m2", "ponding_depth_mm", "bed_depth_mm")
    area, treated, ponding, bed = (_numbers(rows, f"built_{name}") for name in names)
    built = np.isfinite(area) & np.isfinite(treated)
    held = capture_depth_mm(
        np.where(built, area, 0.0),
        np.where(built, treated, 0.0),
        runoff_coefficient=rules.runoff_coefficient,
        ponding_depth_mm=ponding,
        bed_depth_mm=bed,
        void_fraction=np.array([own.void_fraction for own in mine], dtype=np.float64),
    )
    reach = as_built_reach(
        treated, _numbers(lots, "drain_reach_share"), _numbers(spots, "draining_area_m2"), _numbers(spots, "kept_share")
    )
    lawn = _numbers(spots, "run_on_m3") if rules.run_on else None
    found = storm(treated, treated, held, reach, rules, run_on_m3=lawn)
    captured, kept = (found[name].to_numpy(dtype=np.float64) for name in ("storm_captured_m3", "storm_kept_m3"))
    year = np.full((len(rows), 2), np.nan)
    if context.rain_years is not None:
        infiltration = _numbers(lots, "ksat_spot_um_s") * UM_PER_S_MM_PER_H
        for at in np.flatnonzero(built):  # each garden has depths of its own
            own = mine[at].model_copy(update={"ponding_depth_mm": float(ponding[at]), "bed_depth_mm": float(bed[at])})
            one = mean_year(context.rain_years, treated[at], treated[at], area[at], infiltration[at], reach[at], own)
            year[at] = one[["year_captured_m3", "year_kept_m3"]].to_numpy(dtype=np.float64)[0]
    return pd.DataFrame(
        {
            "built_capture_depth_mm": held,
            "built_storm_captured_m3": np.where(built, captured, np.nan),
            "built_storm_kept_m3": np.where(built, kept, np.nan),
            "built_year_captured_m3": year[:, 0],
            "built_year_kept_m3": year[:, 1],
        }
    )


def _numbers(table: Any, name: str) -> Floats:
    """A column as floats, NaN where missing or where the column is."""
    if name not in table:
        return np.full(len(table), np.nan)
    numbers: Floats = pd.to_numeric(table[name]).astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    return numbers


def _points(rows: pd.DataFrame, lots: Any, spots: Any) -> NDArray[Any]:
    """Where each garden is: as built, else the spot, else a point on the lot."""
    inside = shapely.point_on_surface(np.asarray(lots.geometry.array, dtype=object))
    x, y = _numbers(rows, "built_x_m"), _numbers(rows, "built_y_m")
    for more_x, more_y in (
        (_numbers(spots, "x_m"), _numbers(spots, "y_m")),
        (shapely.get_x(inside), shapely.get_y(inside)),
    ):
        missing = np.isnan(x) | np.isnan(y)
        x, y = np.where(missing, more_x, x), np.where(missing, more_y, y)
    points: NDArray[Any] = np.asarray(shapely.points(x, y))
    return points


def _outfalls(
    rows: pd.DataFrame, points: NDArray[Any], lots: Any, inlets: Any | None
) -> tuple[list[str | None], list[str]]:
    """Outfall of each lot and how it is known: as given, the inlet its roof water runs to, else the nearest."""
    given = list(rows["outfall"]) if "outfall" in rows else [None] * len(rows)
    downhill = list(lots["inlet"]) if "inlet" in lots else [None] * len(rows)
    nearest: list[str | None] = [None] * len(rows)
    if inlets is not None and len(inlets) and len(rows):
        tree = shapely.STRtree(inlets.geometry.to_numpy())
        row, at = tree.query_nearest(points, max_distance=INLET_REACH_M, all_matches=False)
        names = inlets["inlet_id"].to_numpy(dtype=object)
        for r, a in zip(row, at, strict=True):
            nearest[r] = None if pd.isna(names[a]) else f"nearest inlet, {names[a]}"
    out: list[str | None] = []
    basis: list[str] = []
    for said, down, near in zip(given, downhill, nearest, strict=True):
        if isinstance(said, str):
            out.append(said)
            basis.append("given")
        elif isinstance(down, str):
            out.append(f"inlet {down}")
            basis.append("over the ground")
        else:
            out.append(near)
            basis.append("nearest inlet" if near else "unknown")
    return out, basis
