"""Hip, gable, flat or one slope: as given, else as a surface raster shows, else as the rules say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints
from screening.roofs.gables import gable_edges, roof_sides
from screening.roofs.measured import Surface, measure_falls, measure_kinds
from screening.rules import Rules

__all__ = ["RoofKinds", "find_kinds"]


@dataclass(frozen=True, eq=False)
class RoofKinds:
    """Kinds of roofs, and their gables.

    Parameters
    ----------
    kind
        hip, gable, flat or one slope for each roof, shape (R,).
    measured, asked
        Whether a surface raster told it; whether one was asked and may not have told, shape (R,).
    feet, part_of
        Footprints of the roofs in use, and the row number of the roof that each is part of, rising.
    gable
        Whether each edge of these stands still.
    """

    kind: NDArray[Any]
    measured: NDArray[np.bool_]
    asked: NDArray[np.bool_]
    feet: Footprints
    part_of: NDArray[np.int64]
    gable: NDArray[np.bool_]


def find_kinds(roofs: gpd.GeoDataFrame, rules: Rules, surface: Surface | None, used: NDArray[np.int64]) -> RoofKinds:
    """Find the kind and the gables of each roof.

    Parameters
    ----------
    roofs
        Geometry; ``roof_kind`` optional.
    rules
        For the kind where neither layer nor surface says.
    surface
        Heights of the roofs, where given.
    used
        Row numbers of the roofs that matter.
    """
    shapes = roofs.geometry.to_numpy()
    given = np.full(len(roofs), None, dtype=object)
    if "roof_kind" in roofs.columns:
        given = roofs["roof_kind"].astype("object").to_numpy()
    known = np.isin(given.astype(str), ["hip", "gable", "flat"])
    kind = np.where(known, given, rules.roof_kind)
    parts, index = shapely.get_parts(shapes[used], return_index=True)
    feet, part_of = Footprints.from_polygons(parts), np.asarray(used[index], np.int64)
    sides = roof_sides(feet)
    measured, asked = np.zeros(len(roofs), dtype=bool), np.zeros(len(roofs), dtype=bool)
    still = np.zeros(len(feet.xy_m), dtype=bool)
    if surface is not None:
        alone = np.bincount(part_of, minlength=len(roofs))[part_of] == 1
        falls = measure_falls(surface, parts)
        shown, still = measure_kinds(feet, sides, falls, surface, alone & ~known[part_of])
        asked[part_of] = ~known[part_of]
        told = np.array([name is not None for name in shown], dtype=bool)
        measured[part_of[told]] = True
        kind[part_of[told]] = shown[told]
    by_rule = ~measured[part_of] & (kind[part_of] == "gable")
    return RoofKinds(
        kind, measured, asked, feet, part_of, still | (gable_edges(feet, sides) & by_rule[feet.piece_of_edge])
    )
