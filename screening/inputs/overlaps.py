"""Polygons that overlap: which do, and roofs cut so that no rain falls twice."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from screening.inputs.findings import Findings

__all__ = ["Pairs", "overlapping_pairs", "roofs_apart"]

TOLD_OVERLAP_M2: Final = 1.0
"""Polygons that overlap by more than this are told [m2]."""
_STRIP_M: Final = 1.0
"""What a cut leaves of a roof and is nowhere wider than this is no roof but the drawing's error [m]."""


@dataclass(frozen=True, eq=False)
class Pairs:
    """Pairs of polygons that overlap, in order.

    Parameters
    ----------
    first, second
        Positions of each pair, first < second.
    common
        What is in both.
    area_m2
        Area of that. [m2]
    """

    first: NDArray[np.int64]
    second: NDArray[np.int64]
    common: NDArray[np.object_]
    area_m2: NDArray[np.float64]

    def take(self, which: NDArray[Any]) -> Pairs:
        """Some of the pairs."""
        return Pairs(self.first[which], self.second[which], self.common[which], self.area_m2[which])


def overlapping_pairs(geometries: NDArray[np.object_]) -> Pairs:
    """Pairs of polygons that overlap by more than a little."""
    first, second = shapely.STRtree(geometries).query(geometries)
    boxes = shapely.bounds(geometries)
    sides = np.minimum(boxes[first, 2:], boxes[second, 2:]) - np.maximum(boxes[first, :2], boxes[second, :2])
    # neighbours along the axes, whose boxes share nothing, need no intersection
    may = (first < second) & (sides.prod(axis=1) > 0.5 * TOLD_OVERLAP_M2)
    first, second = first[may], second[may]
    common = np.asarray(shapely.intersection(geometries[first], geometries[second]), dtype=object)
    pairs = Pairs(first.astype(np.int64), second.astype(np.int64), common, shapely.area(common))
    pairs = pairs.take(pairs.area_m2 > TOLD_OVERLAP_M2)
    return pairs.take(np.lexsort((pairs.second, pairs.first)))


def roofs_apart(frame: gpd.GeoDataFrame, findings: Findings) -> gpd.GeoDataFrame:
    """Roofs of which none covers another: of two that overlap, the smaller is cut, or left out where little is left.

    Rain falls once on what is digitized twice. Each cut is told in the problems.

    Parameters
    ----------
    frame
        Roofs with ``roof_id`` and valid polygons, in the working CRS.
    findings
        Where cuts are told.
    """
    shapes = np.array(frame.geometry.array, dtype=object)
    pairs = overlapping_pairs(shapes)
    first, second = pairs.first, pairs.second
    if not len(first):
        return frame
    areas = shapely.area(shapes)
    second_is_smaller = areas[second] <= areas[first]
    small, large = np.where(second_is_smaller, second, first), np.where(second_is_smaller, first, second)
    ids, whole = frame["roof_id"].to_numpy(dtype=object), shapes.copy()
    out = np.zeros(len(shapes), dtype=bool)
    for at in np.unique(small):
        over = large[small == at]
        rest = shapely.difference(whole[at], shapely.union_all(whole[over]))
        shapes[at] = _without_strips(rest)
        out[at] = shapely.is_empty(shapes[at])
        names = ", ".join(str(id_) for id_ in ids[over])
        done, left = ("left out", 0.0) if out[at] else ("cut", float(shapely.area(shapes[at])))
        told = {"before_m2": float(areas[at]), "after_m2": left}
        findings.problem("roofs", str(ids[at]), f"overlaps roof {names}", done, whole[at], **told)
    cut, gone = int(len(np.unique(small)) - out.sum()), int(out.sum())
    findings.note(
        "repair",
        f"{cut:,} roofs were cut where a larger one overlaps them, {gone:,} that lie on larger ones were left out: "
        "rain is counted once. See problems.",
        "roofs",
    )
    return frame.set_geometry(gpd.GeoSeries(shapes, index=frame.index, crs=frame.crs))[~out].reset_index(drop=True)


def _without_strips(shape: Any) -> Any:
    """The parts of a shape that are somewhere wider than a strip."""
    parts = shapely.get_parts(shape)
    parts = parts[shapely.get_dimensions(parts) == 2]
    wide = parts[~shapely.is_empty(shapely.buffer(parts, -0.5 * _STRIP_M))]
    return wide[0] if len(wide) == 1 else shapely.multipolygons(wide) if len(wide) else shapely.Polygon()
