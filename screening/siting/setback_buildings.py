"""Buildings: how far a garden keeps from each, by its kind. Footprints are eaves, and setbacks run from them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray

from screening.area import AreaContext, Block
from screening.roofs.pieces import building_kinds, cut_by_lots
from screening.rules import Rules
from screening.siting.setback_rows import no_rows, setback_rows
from screening.siting.uphill import uphill_zones

__all__ = ["basements", "block_kinds", "garages", "houses", "roof_kinds", "sheds"]


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
    deep = roofs["basement"].fillna(False).to_numpy(dtype=bool)
    if not deep.any():
        return no_rows(context)
    deep &= block_kinds(block, context.rules) == "house"
    zones = uphill_zones(block, roofs.geometry.to_numpy()[deep], context.rules.basement_setback_m)
    return setback_rows(context, zones, 0.0)


def roof_kinds(layers: Mapping[str, Any], rules: Rules) -> NDArray[Any]:
    """House, garage or shed for every roof of the layer.

    As given; else as the roofs stage tells the largest piece of it, from the lots around, whichever block they are
    of; a roof on no lot goes by its size.
    """
    roofs = layers["roofs"]
    kind: NDArray[Any] = roofs["kind"].astype("object").to_numpy()
    known = np.isin(kind.astype(str), ("house", "garage", "shed"))
    if known.all():
        return kind
    small = roofs.geometry.area.to_numpy() < rules.outbuilding_most_m2
    guess = np.where(small, "shed", "house").astype(object)
    pieces, _ = cut_by_lots(roofs, layers["lots"])
    if len(pieces):
        pieces["kind"] = building_kinds(pieces, roofs, rules)["kind"]
        largest = pieces.sort_values("area_m2", kind="stable").drop_duplicates("roof", keep="last")
        guess[largest["roof"].to_numpy()] = largest["kind"].to_numpy(dtype=object)
    kinds: NDArray[Any] = np.where(known, kind, guess)
    return kinds


def block_kinds(block: Block, rules: Rules) -> NDArray[Any]:
    """``roof_kinds`` of a block, found once."""
    return block.once((roof_kinds, rules.outbuilding_most_m2), lambda: roof_kinds(block.layers, rules))


def _of_kind(block: Block, context: AreaContext, kind: str, clearance_m: float) -> gpd.GeoDataFrame:
    roofs = block.layers.get("roofs")
    if roofs is None or not len(roofs):
        return no_rows(context)
    of_kind = block_kinds(block, context.rules) == kind
    return setback_rows(context, roofs.geometry.to_numpy()[of_kind], clearance_m)
