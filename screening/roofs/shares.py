"""Roof shares: which part of each roof piece drains to which downspout."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.area import AreaContext, Block, Tables
from screening.roofs.footprints import Footprints
from screening.roofs.given import snap_given
from screening.roofs.gutters import COURT, EAVE, GABLE, PARTY
from screening.roofs.pieces import building_kinds, cut_by_lots
from screening.roofs.planes import METHODS, RoofPlanes, roof_planes
from screening.roofs.spouts import share_planes
from screening.roofs.tables import downspout_table, left_over, share_table
from screening.roofs.walls import Walls, find_walls
from screening.rules import Rules

__all__ = ["RoofTables", "roof_shares", "share_roofs"]


@dataclass(frozen=True, eq=False)
class RoofTables:
    """Roof pieces, their shares, the downspouts, and what was wrong, as ``fields.TABLES`` declares them."""

    pieces: gpd.GeoDataFrame
    shares: gpd.GeoDataFrame
    downspouts: gpd.GeoDataFrame
    problems: gpd.GeoDataFrame


def roof_shares(block: Block, context: AreaContext) -> Tables:
    """Roof pieces, roof shares and downspouts of a block's lots.

    Parameters
    ----------
    block
        Its ``lots`` and the layers ``roofs`` and, where given, ``downspouts``.
    context
        The rules.

    Returns
    -------
    dict
        ``roof_pieces``, ``roof_shares``, ``downspouts``, and ``roof_problems`` (slivers dropped, downspouts that are
        near no eave).
    """
    tables = share_roofs(block.layers["roofs"], block.lots, block.layers.get("downspouts"), context.rules)
    return {
        "roof_pieces": tables.pieces,
        "roof_shares": tables.shares,
        "downspouts": tables.downspouts,
        "roof_problems": tables.problems,
    }


def share_roofs(
    roofs: gpd.GeoDataFrame, lots: gpd.GeoDataFrame, downspouts: gpd.GeoDataFrame | None, rules: Rules
) -> RoofTables:
    """Share every roof on these lots out to downspouts.

    Planes are the faces of the weighted straight skeleton. Each eave drains to the downspouts at the ends of its
    gutter, half and half; placed ones carry the range between gutters falling either way. A flat roof is shared as
    if it fell to its edges, with a range from none of the roof to all of it. Inner courts are not led. Outbuildings
    under the rule's size have no shares.

    Parameters
    ----------
    roofs
        ``roof_id``, geometry (polygons); ``kind``, ``roof_kind``, ``basement`` optional.
    lots
        ``lot_id``, geometry (polygons).
    downspouts
        Points; ``downspout_id``, ``leads_to`` optional.
    rules
        Gutter run, least share, outbuilding, roof kind.
    """
    pieces, problems = cut_by_lots(roofs, lots)
    pieces = _describe(pieces, roofs, rules)
    shared = pieces[pieces["shared"]]
    feet = Footprints.from_polygons(shared.geometry.to_numpy())
    lot_shapes = lots.geometry.to_numpy()[shared["lot"].to_numpy(dtype=int)]
    roof_of = shared["roof"].to_numpy(dtype=np.int64)
    has_gables = _roof_kinds(roofs, rules) == "gable"
    whole = shared["whole"].to_numpy(dtype=bool)
    walls = find_walls(feet, roof_of, whole, roofs.geometry.to_numpy(), lot_shapes, has_gables)
    planes = roof_planes(feet, walls.speed, walls.party)
    edge_kinds = classes_of_edges(planes, walls)
    given = snap_given(downspouts, shared.geometry.to_numpy(), feet, edge_kinds == EAVE)
    method = np.full(len(pieces), None, dtype=object)
    method[pieces["shared"].to_numpy()] = np.array(METHODS, dtype=object)[planes.method]
    pieces["method"] = method
    spouts, shares = share_planes(planes, edge_kinds, given, rules.gutter_run_most_m)
    spout_table = downspout_table(spouts, shared, given, downspouts, rules)
    share_rows = share_table(shares, spouts, spout_table, shared)
    left = left_over(downspouts, given, lots)
    told = pd.concat([part for part in (problems, left) if len(part)] or [problems], ignore_index=True)
    return RoofTables(pieces.drop(columns=["roof", "lot", "whole"]), share_rows, spout_table, told)


def classes_of_edges(planes: RoofPlanes, walls: Walls) -> NDArray[np.int64]:
    """EAVE, COURT, GABLE or PARTY for each edge, after gables that had to be sloped have become eaves."""
    return np.select([walls.party, planes.speed == 0.0, planes.footprints.on_hole], [PARTY, GABLE, COURT], EAVE).astype(
        np.int64
    )


def _roof_kinds(roofs: gpd.GeoDataFrame, rules: Rules) -> NDArray[Any]:
    """Kind of each roof: as given, else the rule's."""
    if "roof_kind" not in roofs.columns:
        return np.full(len(roofs), rules.roof_kind, dtype=object)
    given = roofs["roof_kind"].astype("object").to_numpy()
    return np.where(np.isin(given.astype(str), ["hip", "gable", "flat"]), given, rules.roof_kind)


def _describe(pieces: gpd.GeoDataFrame, roofs: gpd.GeoDataFrame, rules: Rules) -> gpd.GeoDataFrame:
    """Add kind, roof kind, basement and whether it is shared."""
    kinds = building_kinds(pieces, roofs, rules)
    roof = pieces["roof"].to_numpy(dtype=int)
    out = pieces.assign(kind=kinds["kind"], kind_basis=kinds["kind_basis"], roof_kind=_roof_kinds(roofs, rules)[roof])
    out["basement"] = roofs["basement"].to_numpy()[roof] if "basement" in roofs.columns else pd.NA
    out["basement"] = out["basement"].astype("boolean")
    out["shared"] = (out["kind"] == "house") | (out["area_m2"] >= rules.outbuilding_most_m2)
    return out
