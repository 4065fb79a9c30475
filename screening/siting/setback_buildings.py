"""Buildings: how far a garden keeps from each, by its kind. Footprints are eaves, and setbacks run from them."""

from __future__ import annotations

from typing import Any

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray

from screening.area import AreaContext, Block
from screening.rules import Rules
from screening.siting.setback_rows import no_rows, setback_rows
from screening.siting.uphill import uphill_zones

__all__ = ["basements", "garages", "houses", "kinds_by_size", "roof_kinds", "sheds"]


def houses(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Houses, and buildings whose kind nobody knows."""
    return _of_kind(block, context, "house", context.rules.house_setback_m)


def garages(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Garages on slabs."""
    return _of_kind(block, context, "garage", context.rules.garage_setback_m)


def sheds(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Sheds."""
    return _of_kind(block, context, "shed", context.rules.shed_setback_m)


def basements(block: Block, context: AreaContext) -> gpd.GeoDataFrame:
    """Ground uphill of a house with a basement: what seeps there reaches its wall."""
    roofs = block.layers.get("roofs")
    if roofs is None or not len(roofs):
        return no_rows(context)
    deep = roofs["basement"].fillna(False).to_numpy(dtype=bool) & (roof_kinds(block, context) == "house")
    zones = uphill_zones(block, roofs.geometry.to_numpy()[deep], context.rules.basement_setback_m)
    return setback_rows(context, zones, 0.0)


def roof_kinds(block: Block, context: AreaContext) -> NDArray[Any]:
    """House, garage or shed for every roof around: as given, as the roofs stage found, else by its size."""
    roofs = block.layers["roofs"]
    kind = roofs["kind"].astype("object").to_numpy().copy()
    pieces = block.tables.get("roof_pieces")
    if pieces is not None and len(pieces):
        largest = pieces.sort_values("area_m2", kind="stable").drop_duplicates("roof_id", keep="last")
        found = roofs["roof_id"].map(largest.set_index("roof_id")["kind"]).astype("object").to_numpy()
        kind = np.where(_known(kind), kind, found)
    kinds: NDArray[Any] = np.where(_known(kind), kind, kinds_by_size(roofs, context.rules))
    return kinds


def kinds_by_size(roofs: gpd.GeoDataFrame, rules: Rules) -> NDArray[Any]:
    """House, garage or shed for every roof: as given, else by its size alone."""
    kind = roofs["kind"].astype("object").to_numpy()
    small = roofs.geometry.area.to_numpy() < rules.outbuilding_most_m2
    kinds: NDArray[Any] = np.where(_known(kind), kind, np.where(small, "shed", "house"))
    return kinds


def _known(kind: NDArray[Any]) -> NDArray[np.bool_]:
    return np.isin(kind.astype(str), ("house", "garage", "shed"))


def _of_kind(block: Block, context: AreaContext, kind: str, clearance_m: float) -> gpd.GeoDataFrame:
    roofs = block.layers.get("roofs")
    if roofs is None or not len(roofs):
        return no_rows(context)
    of_kind = roof_kinds(block, context) == kind
    return setback_rows(context, roofs.geometry.to_numpy()[of_kind], clearance_m)
