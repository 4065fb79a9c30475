"""Things on the map that keep a garden away: paving, trees, buried lines, wells, septic fields, water, and more."""

from __future__ import annotations

from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.area import AreaContext, Block
from screening.siting.crowns import surface_crowns
from screening.siting.setback_rows import clearances, no_rows, setback_rows
from screening.siting.uphill import uphill_zones

__all__ = [
    "avoid",
    "avoid_look",
    "crowns",
    "easements",
    "inlets",
    "mains",
    "paving",
    "pools",
    "retaining_walls",
    "septic_any",
    "septic_uphill",
    "services",
    "trunks",
    "water",
    "wells",
]


def paving(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Drives, walks and patios."""
    return _layer(block, context, "paved", context.rules.paving_setback_m)


def inlets(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Storm drain inlets: a main begins there."""
    return _layer(block, context, "inlets", context.rules.buried_main_setback_m)


def water(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Streams, ponds and wetlands."""
    return _layer(block, context, "water", context.rules.water_setback_m, detail="name")


def wells(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Wells."""
    return _layer(block, context, "wells", context.rules.well_setback_m)


def septic_any(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Septic fields, gardens on any side."""
    return _layer(block, context, "septic", context.rules.septic_downhill_setback_m)


def septic_uphill(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Ground uphill of septic fields: what seeps there floods the field."""
    fields = block.layers.get("septic")
    if fields is None or not len(fields):
        return no_rows(context)
    reach = clearances(fields["clearance_m"], context.rules.septic_uphill_setback_m)
    return setback_rows(context, uphill_zones(block, fields.geometry.to_numpy(), reach), 0.0)


def easements(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Easements, their whole width; a line without a width keeps the clearance of a main."""
    table = block.layers.get("easements")
    if table is None or not len(table):
        return no_rows(context)
    line = shapely.get_dimensions(table.geometry.to_numpy()) < 2
    width = np.where(line, context.rules.buried_main_setback_m, 0.0)
    return _layer(block, context, "easements", width, detail="name")


def mains(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Buried mains, and buried lines whose kind nobody knows."""
    return _layer(block, context, "buried", context.rules.buried_main_setback_m, kinds=("service",), without=True)


def services(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Buried service lines."""
    return _layer(block, context, "buried", context.rules.buried_service_setback_m, kinds=("service",))


def trunks(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Roots of trees whose trunk is known: so many trunk diameters around it."""
    trees = block.layers.get("trees")
    if trees is None or not len(trees):
        return no_rows(context)
    trunk = _numbers(trees["trunk_m"])
    known = trunk > 0
    centre = shapely.centroid(trees.geometry.to_numpy()[known])
    return setback_rows(context, centre, context.rules.tree_trunk_radius_x * trunk[known])


def crowns(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Trees of which only the crown is known, or nothing but the place; drawn, given by radius, or seen from above."""
    trees = block.layers.get("trees")
    seen = setback_rows(context, surface_crowns(block, context.rules), 0.0, detail="seen in the surface raster")
    if trees is None or not len(trees):
        return seen
    rules = context.rules
    trees = trees[~(_numbers(trees["trunk_m"]) > 0)]
    geometry = trees.geometry.to_numpy()
    drawn = shapely.get_dimensions(geometry) == 2
    crown = np.where(drawn, np.sqrt(shapely.area(geometry) / np.pi), np.nan_to_num(_numbers(trees["crown_m"])))
    radius = np.maximum(rules.tree_crown_radius_x * crown, rules.tree_crown_least_m)
    # a drawn crown narrower than the rule's radius grows about its edge, never shrinks
    clearance = np.where(drawn, np.maximum(radius - crown, 0.0), radius)
    rows = setback_rows(context, geometry, clearance)
    tables = [table for table in (rows, seen) if len(table)]
    return pd.concat(tables, ignore_index=True) if tables else no_rows(context)


def retaining_walls(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Retaining walls: so many times their height, or the rule's distance where it is unknown."""
    rules = context.rules
    table = _avoided(block, ("wall",))
    if table is None:
        return no_rows(context)
    height = _numbers(table["height_m"])
    reach = np.where(height > 0, rules.retaining_wall_setback_heights * height, rules.retaining_wall_setback_m)
    return _avoid_rows(context, table, reach)


def pools(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Pools."""
    table = _avoided(block, ("pool",))
    return no_rows(context) if table is None else _avoid_rows(context, table, context.rules.pool_setback_m)


def avoid(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Whatever else the programme keeps gardens out of, each with its own clearance and sentence."""
    table = _avoided(block, ("wall", "pool"), without=True)
    return no_rows(context) if table is None else _avoid_rows(context, table, 0.0)


def avoid_look(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Where somebody must look before a garden is promised, each place with its own clearance and sentence."""
    table = _avoided(block, (), without=True, effect="look closer")
    if table is None:
        return no_rows(context)
    rules = context.rules
    kind = table["kind"].to_numpy(dtype=object)
    reach = np.where(kind == "wall", rules.retaining_wall_setback_m, np.where(kind == "pool", rules.pool_setback_m, 0))
    return _avoid_rows(context, table, reach)


def _avoided(block: Block, kinds: tuple[str, ...], *, without: bool = False, effect: str = "") -> Any:
    """Rows of the avoid layers by kind and effect; one without an effect forbids digging."""
    table = block.layers.get("avoid")
    if table is None or not len(table):
        return None
    look = (table["effect"] == "look closer").fillna(False).to_numpy(dtype=bool)
    of_kind = table["kind"].isin(list(kinds)).to_numpy(dtype=bool)
    return table[(look == (effect == "look closer")) & (of_kind != without)]


def _avoid_rows(context: AreaContext, table: gpd.GeoDataFrame, reach_m: Any) -> gpd.GeoDataFrame:
    sentence = table["sentence"].where(table["sentence"].notna(), table["name"]).fillna("")
    return setback_rows(
        context,
        table.geometry.to_numpy(),
        clearances(table["clearance_m"], reach_m),
        detail=sentence.to_numpy(dtype=object),
    )


def _layer(
    block: Block,
    context: AreaContext,
    name: str,
    rule_m: Any,
    *,
    detail: str = "",
    kinds: tuple[str, ...] = (),
    without: bool = False,
) -> gpd.GeoDataFrame:
    """Every feature of a layer, with the clearance given or the rule's."""
    table = block.layers.get(name)
    if table is None or not len(table):
        return no_rows(context)
    if kinds:
        table = table[table["kind"].isin(list(kinds)).to_numpy(dtype=bool) != without]
    reach = np.broadcast_to(np.asarray(rule_m, dtype=np.float64), len(table))
    if "clearance_m" in table.columns:
        reach = clearances(table["clearance_m"], reach)
    words = table[detail].fillna("").to_numpy(dtype=object) if detail else ""
    return setback_rows(context, table.geometry.to_numpy(), reach, detail=words)


def _numbers(column: Any) -> NDArray[np.float64]:
    values: NDArray[np.float64] = pd.to_numeric(column).astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    return values
