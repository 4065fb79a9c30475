"""Roof pieces: the parts of roofs that lie on lots, and what kind of building each belongs to."""

from __future__ import annotations

from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.rules import Rules

__all__ = ["CUT_GRID_M", "SLIVER_M", "building_kinds", "cut_by_lots"]

CUT_GRID_M: Final = 0.001
"""Grid on which roofs are cut by lot lines [m]."""
SLIVER_M: Final = 0.5
"""A part of a roof narrower than this is an eave over the lot line or an error of a map, not a piece [m]."""

PROBLEM: Final = (
    "part of the roof on lot {lot} is narrower than {width} m: an eave over the lot line, or lines that do not fit"
)


def cut_by_lots(roofs: gpd.GeoDataFrame, lots: gpd.GeoDataFrame) -> tuple[gpd.GeoDataFrame, gpd.GeoDataFrame]:
    """Cut roofs into the pieces that lie on lots.

    A roof that lies on one lot whole is kept to the last digit; others are cut on a grid of 1 mm. Slivers are dropped
    by their width, not their area, and told as problems.

    Parameters
    ----------
    roofs
        Columns ``roof_id`` and geometry (polygons); others are kept.
    lots
        Columns ``lot_id`` and geometry (polygons).

    Returns
    -------
    pieces
        One row a piece, by lot and roof in the order given: ``piece_id``, ``roof_id``, ``lot_id``, ``area_m2``, row
        numbers ``roof`` and ``lot``, whether it is the ``whole`` roof or a whole part of it, geometry (one polygon).
        A piece is named by roof and lot, and numbered, the largest first, where a roof lies on a lot in several
        parts, so that its name hangs on nothing else.
    problems
        Slivers that were dropped: ``layer``, ``feature``, ``problem``, ``done``, ``area_before_m2``,
        ``area_after_m2``, geometry.
    """
    roof_shapes, lot_shapes = roofs.geometry.to_numpy(), lots.geometry.to_numpy()
    lot, roof, whole = _pairs(roof_shapes, lot_shapes)
    parts, pair = _parts(roof_shapes[roof], lot_shapes[lot], whole)
    thin = _narrow(parts, SLIVER_M)
    lot, roof, area = lot[pair], roof[pair], shapely.area(parts)
    kept = ~thin
    pieces = gpd.GeoDataFrame(
        {
            "piece_id": _names(roofs["roof_id"].to_numpy()[roof], lots["lot_id"].to_numpy()[lot], pair, kept),
            "roof_id": roofs["roof_id"].to_numpy()[roof],
            "lot_id": lots["lot_id"].to_numpy()[lot],
            "roof": roof,
            "lot": lot,
            "whole": whole[pair],
            "area_m2": area,
        },
        geometry=parts,
        crs=roofs.crs,
    )[kept].reset_index(drop=True)
    lot_ids = lots["lot_id"].to_numpy()[lot[thin]]
    problems = gpd.GeoDataFrame(
        {
            "layer": "roofs",
            "feature": roofs["roof_id"].to_numpy()[roof[thin]],
            "problem": [PROBLEM.format(lot=name, width=SLIVER_M) for name in lot_ids],
            "done": "dropped",
            "area_before_m2": area[thin],
            "area_after_m2": 0.0,
        },
        geometry=parts[thin],
        crs=roofs.crs,
    )
    return pieces, problems


def _pairs(roofs: NDArray[Any], lots: NDArray[Any]) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.bool_]]:
    """Pairs of lot and roof that meet, and whether the lot holds the whole roof.

    Both are asked of the tree: shapes prepared by hand would stay so, and be shared by threads.
    """
    tree = shapely.STRtree(roofs)
    lot, roof = tree.query(lots, predicate="intersects")
    lot, roof = np.stack([lot, roof])[:, np.lexsort((roof, lot))]
    holder, held = tree.query(lots, predicate="covers")
    return lot, roof, np.isin(lot * len(roofs) + roof, holder * len(roofs) + held)


def _parts(roofs: NDArray[Any], lots: NDArray[Any], whole: NDArray[np.bool_]) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """Polygons in which each roof lies on its lot, largest first, and the number of the pair each comes from."""
    shapes = roofs.copy()
    shapes[~whole] = shapely.intersection(roofs[~whole], lots[~whole], grid_size=CUT_GRID_M)
    parts, pair = shapely.get_parts(shapes, return_index=True)
    flat = (shapely.get_type_id(parts) == shapely.GeometryType.POLYGON) & (shapely.area(parts) > 0.0)
    parts, pair = parts[flat], pair[flat]
    order = np.lexsort((-shapely.area(parts), pair))
    return parts[order], np.asarray(pair[order], np.int64)


def _narrow(polygons: NDArray[Any], width_m: float) -> NDArray[np.bool_]:
    """Whether no circle of this diameter fits into each polygon; twice area over perimeter is never wider than it."""
    thin = 2.0 * shapely.area(polygons) < width_m * shapely.length(polygons)
    thin[thin] = shapely.is_empty(shapely.buffer(polygons[thin], -0.5 * width_m))
    return thin


def _names(roof_ids: NDArray[Any], lot_ids: NDArray[Any], pair: NDArray[np.int64], kept: NDArray[np.bool_]) -> Any:
    """Name pieces by roof and lot, and number them where there are several of one pair."""
    frame = pd.DataFrame({"pair": pair, "kept": kept})
    number = frame["kept"].astype(int).groupby(frame["pair"]).cumsum()
    several = frame["kept"].groupby(frame["pair"]).transform("sum") > 1
    name = pd.Series(roof_ids, dtype="str") + "/" + pd.Series(lot_ids, dtype="str")
    return name.where(~several, name + "/" + number.astype("str")).to_numpy()


def building_kinds(pieces: gpd.GeoDataFrame, roofs: gpd.GeoDataFrame, rules: Rules) -> pd.DataFrame:
    """Tell houses, garages and sheds: as given, else guessed from area and the lot's other pieces.

    A roof smaller than the rule's outbuilding is a shed. The largest of the rest on a lot is its house, unless a
    house is given there; so is a piece of a roof that mostly stands on other lots (a neighbour's house over the
    line keeps a house's setback). Others are garages.

    Parameters
    ----------
    pieces
        As ``cut_by_lots`` returns them.
    roofs
        Column ``kind`` (house, garage, shed or missing) is optional.

    Returns
    -------
    pandas.DataFrame
        ``kind`` and ``kind_basis`` (given or guessed), one row a piece.
    """
    given = np.full(len(pieces), None, dtype=object)
    if "kind" in roofs.columns:
        given = roofs["kind"].astype("object").to_numpy()[pieces["roof"]]
    known = pd.Series(given).isin(["house", "garage", "shed"]).to_numpy()
    roof_m2 = shapely.area(roofs.geometry.to_numpy())[pieces["roof"]]
    area = pieces["area_m2"].to_numpy()
    small = roof_m2 < rules.outbuilding_most_m2
    has_house = pd.Series(known & (given == "house")).groupby(pieces["lot_id"].to_numpy()).transform("any").to_numpy()
    ranked = pd.Series(np.where(known | small, -1.0, area)).groupby(pieces["lot_id"].to_numpy())
    largest = (ranked.rank(method="first", ascending=False).to_numpy() == 1.0) & ~known & ~small
    house = (largest & ~has_house) | (area < 0.5 * roof_m2)
    guess = np.select([small, house], ["shed", "house"], "garage")
    return pd.DataFrame(
        {"kind": np.where(known, given, guess), "kind_basis": np.where(known, "given", "guessed")}, index=pieces.index
    )
