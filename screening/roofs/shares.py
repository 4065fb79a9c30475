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
from screening.roofs.kinds import RoofKinds, find_kinds
from screening.roofs.measured import Surface
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
        Its ``lots``, the layers ``roofs`` and, where given, ``downspouts``, and the surface raster where given.
    context
        The rules.

    Returns
    -------
    dict
        ``roof_pieces``, ``roof_shares``, ``downspouts``, and ``roof_problems`` (slivers dropped, downspouts that are
        near no eave).
    """
    surface = None if block.surface is None else Surface(block.surface, block.transform)
    tables = share_roofs(block.layers["roofs"], block.lots, block.layers.get("downspouts"), context.rules, surface)
    return {
        "roof_pieces": tables.pieces,
        "roof_shares": tables.shares,
        "downspouts": tables.downspouts,
        "roof_problems": tables.problems,
    }


def share_roofs(
    roofs: gpd.GeoDataFrame,
    lots: gpd.GeoDataFrame,
    downspouts: gpd.GeoDataFrame | None,
    rules: Rules,
    surface: Surface | None = None,
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
    surface
        Heights of roofs, which tell the kind of those that do not say theirs.
    """
    pieces, problems = cut_by_lots(roofs, lots)
    kinds = find_kinds(roofs, rules, surface, np.unique(pieces["roof"].to_numpy(dtype=np.int64)))
    pieces = _describe(pieces, roofs, kinds, rules)
    shared = pieces[pieces["shared"]]
    feet = Footprints.from_polygons(shared.geometry.to_numpy())
    walls = find_walls(
        feet,
        shared["roof"].to_numpy(dtype=np.int64),
        shared["whole"].to_numpy(dtype=bool),
        lots.geometry.to_numpy()[shared["lot"].to_numpy(dtype=np.int64)],
        roofs.geometry.to_numpy(),
        kinds.feet,
        kinds.part_of,
        kinds.gable,
    )
    planes = roof_planes(feet, walls.speed, walls.party)
    pieces["method"] = _methods(pieces, planes, kinds)
    edge_kinds = classes_of_edges(planes, walls)
    given = snap_given(downspouts, shared.geometry.to_numpy(), feet, edge_kinds == EAVE)
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


def _describe(pieces: gpd.GeoDataFrame, roofs: gpd.GeoDataFrame, kinds: RoofKinds, rules: Rules) -> gpd.GeoDataFrame:
    """Add kind, roof kind, basement and whether it is shared."""
    buildings = building_kinds(pieces, roofs, rules)
    roof = pieces["roof"].to_numpy(dtype=int)
    out = pieces.assign(kind=buildings["kind"], kind_basis=buildings["kind_basis"], roof_kind=kinds.kind[roof])
    out["basement"] = roofs["basement"].to_numpy()[roof] if "basement" in roofs.columns else pd.NA
    out["basement"] = out["basement"].astype("boolean")
    out["shared"] = (out["kind"] == "house") | (out["area_m2"] >= rules.outbuilding_most_m2)
    return out


def _methods(pieces: gpd.GeoDataFrame, planes: RoofPlanes, kinds: RoofKinds) -> NDArray[Any]:
    """How the planes of each piece were found; None where it has none."""
    shared = pieces["shared"].to_numpy(dtype=bool)
    method = np.full(len(pieces), None, dtype=object)
    method[shared] = np.array(METHODS, dtype=object)[planes.method]
    roof = pieces["roof"].to_numpy(dtype=int)
    measured = shared & kinds.measured[roof]
    method[measured] = method[measured] + ", roof kind measured"
    silent = shared & kinds.asked[roof] & ~kinds.measured[roof]
    method[silent] = method[silent] + ", the surface shows no kind"
    return method
