"""What lots need beyond other layers: unique ids, order, stacks on one place, none on the ground of another."""

from __future__ import annotations

from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from screening.inputs.findings import Findings
from screening.inputs.lots_apart import lots_apart
from screening.inputs.overlaps import overlapping_pairs

__all__ = ["in_order", "lots_in_order", "unique_ids"]

STACKED_SHARE: Final = 0.95
"""Lots that share more than this of each other lie on one place."""


def unique_ids(frame: gpd.GeoDataFrame, layer: str, column: str, findings: Findings) -> gpd.GeoDataFrame:
    """A layer whose ids are unique.

    Features that stand there twice are dropped into the problems: lots with the id and the geometry of an earlier one,
    others with its geometry. The same id on another place is a fault, as is a lot without id. Features of other layers
    without id are numbered.
    """
    ids = frame[column].to_numpy(dtype=object, copy=True)
    missing = np.array([not isinstance(id_, str) for id_ in ids], dtype=bool)
    if missing.any() and layer == "lots":
        rows = [str(row + 1) for row in np.flatnonzero(missing)]
        findings.fault(
            f"{len(rows):,} lots have no id (rows {_few(rows)})", "Give each lot one, or another id column", layer=layer
        )
    elif missing.any():
        ids = _numbered(ids, missing, findings, layer)
    frame = frame.assign(**{column: pd.Series(ids, index=frame.index, dtype="str")})
    geometries = np.asarray(frame.geometry.array, dtype=object)
    same = _again(geometries, ids if layer == "lots" else None) & ~shapely.is_missing(geometries)
    for at in np.flatnonzero(same):
        findings.problem(layer, str(ids[at]), "the same feature again", "dropped", geometries[at])
    if same.any():
        findings.note("repair", f"{int(np.count_nonzero(same)):,} features that stood there twice were dropped.", layer)
    left = frame[~same].reset_index(drop=True)
    doubled = left[column][left[column].duplicated(keep=False) & left[column].notna()]
    if len(doubled):
        names = sorted(set(doubled))
        findings.fault(
            f"{len(names):,} ids stand on more than one feature: {_few(names)}",
            "Ids must be unique: join the parts to one feature, or name another id column",
            layer=layer,
        )
    return left


def _again(geometries: NDArray[Any], ids: NDArray[Any] | None) -> NDArray[np.bool_]:
    """Where an earlier feature has the same geometry, and the same id where there are any."""
    boxes = pd.DataFrame(shapely.bounds(geometries))
    if ids is not None:
        boxes["id"] = ids
    alike = np.flatnonzero(boxes.duplicated(keep=False))
    shapes = pd.DataFrame({"shape": shapely.to_wkb(shapely.normalize(geometries[alike]))})
    if ids is not None:
        shapes["id"] = ids[alike]
    again = np.zeros(len(geometries), dtype=bool)
    again[alike] = shapes.duplicated()
    return again


def _numbered(ids: NDArray[Any], missing: NDArray[np.bool_], findings: Findings, layer: str) -> NDArray[Any]:
    """Ids for the features without one: their number in the file, as wide as the last one."""
    width = len(str(len(ids)))
    taken = set(ids[~missing])
    out = ids.copy()
    for at in np.flatnonzero(missing):
        name = f"{at + 1:0{width}d}"
        while name in taken:
            name = f"#{name}"
        out[at] = name
    if not missing.all():
        findings.note("repair", f"{int(np.count_nonzero(missing)):,} features without id were numbered.", layer)
    return out


def _few(names: list[str]) -> str:
    """The first five of some names."""
    return ", ".join(names[:5]) + (", ..." if len(names) > 5 else "")


def in_order(frame: gpd.GeoDataFrame, column: str) -> gpd.GeoDataFrame:
    """A table in the order of its ids, by code point, index 0..n-1."""
    ids = frame[column].tolist()
    order = sorted(range(len(ids)), key=lambda at: (not isinstance(ids[at], str), str(ids[at]), at))
    return frame.iloc[order].reset_index(drop=True)


def lots_in_order(frame: gpd.GeoDataFrame, findings: Findings) -> gpd.GeoDataFrame:
    """Lots sorted by id, with the ``place`` of each: the first id of its stack, else its own id.

    Lots that share more than 95% of each other lie on one place; others that overlap are cut (``lots_apart``).
    """
    lots = in_order(frame, "lot_id")
    geometries = np.asarray(lots.geometry.array, dtype=object)
    ids = lots["lot_id"].to_numpy(dtype=object)
    areas = shapely.area(geometries)
    pairs = overlapping_pairs(geometries)
    stacked = pairs.area_m2 > STACKED_SHARE * np.maximum(areas[pairs.first], areas[pairs.second])
    place = _first_of_stack(len(lots), pairs.first[stacked], pairs.second[stacked])
    stacks = int(np.count_nonzero(place != np.arange(len(lots))))
    if stacks:
        findings.note("caution", f"{stacks:,} lots lie on the place of another lot; its water is counted once.", "lots")
    lots = lots.assign(place=pd.Series(ids[place], index=lots.index, dtype="str"))
    return lots_apart(lots, pairs, findings)


def _first_of_stack(count: int, first: NDArray[np.int64], second: NDArray[np.int64]) -> NDArray[np.int64]:
    """For each of some lots, the first that pairs link it to."""
    links = coo_array((np.ones(len(first), dtype=np.int8), (first, second)), shape=(count, count))
    _, stack = connected_components(links, directed=False)
    _, firsts = np.unique(stack, return_index=True)
    return np.asarray(firsts[stack], dtype=np.int64)
