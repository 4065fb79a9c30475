"""Lots that overlap in part, cut so that ground and the roofs on it belong to one of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.inputs.findings import Findings
from screening.inputs.overlaps import Pairs
from screening.inputs.repair import SNAP_M, snapped

__all__ = ["lots_apart"]

STRIP_M: Final = 0.5
"""An overlap narrower than this on average is lines that do not fit, counted and not told by lot; a part of a lot in
which no circle of this diameter has room is not kept, as no piece of a roof would have room in it [m]."""
_AREA_DIGITS: Final = 3
"""Digits of the areas that are compared [m2]: equal lots stay equal wherever their outlines begin."""
_NAMED: Final = 5

Geometries = NDArray[np.object_]
Numbers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class _Claims:
    """Ground that two lots claim, by the one that loses it, smallest first, then by the one that keeps it."""

    loser: Numbers
    keeper: Numbers
    ground: Geometries
    area_m2: NDArray[np.float64]
    strip: NDArray[np.bool_]

    @classmethod
    def of(cls, shapes: Geometries, pairs: Pairs) -> _Claims:
        """Claims of pairs of lots: the smaller keeps the ground, of equals the first."""
        first, second = pairs.first, pairs.second
        area = np.round(shapely.area(shapes), _AREA_DIGITS)
        size = np.empty(len(shapes), dtype=np.int64)
        size[np.lexsort((np.arange(len(shapes)), area))] = np.arange(len(shapes))
        first_loses = size[first] > size[second]
        loser, keeper = np.where(first_loses, first, second), np.where(first_loses, second, first)
        order = np.lexsort((size[keeper], size[loser]))
        ground = _areas(pairs.common[order])
        return cls(loser[order], keeper[order], ground, shapely.area(ground), _narrow(ground))

    @property
    def starts(self) -> Numbers:
        """First claim of each loser."""
        return np.flatnonzero(np.concatenate([[True], self.loser[1:] != self.loser[:-1]]))

    def by_loser(self) -> Iterator[tuple[int, slice]]:
        """Each loser and its claims."""
        for start, stop in zip(self.starts, np.append(self.starts[1:], len(self.loser)), strict=True):
            yield int(self.loser[start]), slice(start, stop)


def lots_apart(lots: gpd.GeoDataFrame, pairs: Pairs, findings: Findings) -> gpd.GeoDataFrame:
    """Lots of which no two claim the same ground: of two that overlap the smaller keeps it, of equals the first.

    A plot drawn whole under the lots that lie in it is what remains around them. A lot of which nothing remains is
    looked at with the lot that keeps most of its ground: it takes that one's ``place``. Lots behind the first of their
    place keep their outlines. Each cut is told in the problems; strips are counted in one note.

    Parameters
    ----------
    lots
        ``lot_id``, ``place`` and valid polygons in the order of the ids, index 0..n-1, in the working CRS.
    pairs
        Pairs of these lots that overlap.
    findings
        Where cuts are told.

    Returns
    -------
    geopandas.GeoDataFrame
        The same rows; the same table where no two lots that stand for a place overlap.
    """
    stands = (lots["place"] == lots["lot_id"]).to_numpy(dtype=bool)
    both = stands[pairs.first] & stands[pairs.second]
    if not both.any():
        return lots
    shapes = np.array(lots.geometry.array, dtype=object)
    claims = _Claims.of(shapes, pairs.take(both))
    left = _remaining(shapes, claims)
    gone = shapely.is_empty(left)
    place = _places(lots, gone, claims)
    _tell(lots["lot_id"].to_numpy(dtype=object), shapes, left, claims, findings)
    left[gone] = shapes[gone]
    out = lots.set_geometry(gpd.GeoSeries(left, index=lots.index, crs=lots.crs))
    return out.assign(place=pd.Series(place, index=lots.index, dtype="str"))


def _remaining(shapes: Geometries, claims: _Claims) -> Geometries:
    """All lots without the ground that smaller ones keep; empty where no more than strips is left."""
    out, cut = shapes.copy(), claims.loser[claims.starts]
    turn = np.arange(len(claims.loser)) - np.repeat(claims.starts, np.diff(claims.starts, append=len(claims.loser)))
    for nth in range(int(turn.max()) + 1):
        loser, keeper = claims.loser[turn == nth], claims.keeper[turn == nth]
        out[loser] = _areas(shapely.difference(out[loser], shapes[keeper]))
    parts, of = shapely.get_parts(out[cut], return_index=True)
    thin = _narrow(parts)
    thin[thin] = shapely.is_empty(shapely.buffer(parts[thin], -0.5 * STRIP_M))
    parts, of = parts[~thin], of[~thin]
    out[cut] = shapely.Polygon()
    left, index, counts = np.unique(of, return_inverse=True, return_counts=True)
    if len(left):
        whole = np.asarray(shapely.multipolygons(parts, indices=index))
        one = counts == 1
        whole[one] = parts[np.isin(of, left[one])]
        out[cut[left]] = shapely.orient_polygons(_on_grid(whole))
    return out


def _areas(shapes: Geometries) -> Geometries:
    """Shapes without the lines and points along which polygons only touch."""
    out = np.array(shapes, dtype=object)
    mixed = shapely.get_type_id(out) == shapely.GeometryType.GEOMETRYCOLLECTION
    out[mixed] = shapely.buffer(out[mixed], 0.0)
    return out


def _on_grid(shapes: Geometries) -> Geometries:
    """Polygons with their corners on the millimetre, valid still."""
    out = snapped(shapes)
    bad = ~shapely.is_valid(out)
    out[bad] = shapely.set_precision(shapely.set_precision(shapes[bad], SNAP_M), 0.0)
    return out


def _narrow(shapes: Geometries) -> NDArray[np.bool_]:
    """Whether twice the area over the perimeter, the width of a long strip, is less than a strip's."""
    return np.asarray(2.0 * shapely.area(shapes) < STRIP_M * shapely.length(shapes), dtype=bool)


def _places(lots: gpd.GeoDataFrame, gone: NDArray[np.bool_], claims: _Claims) -> NDArray[np.object_]:
    """The place of each lot; where nothing is left of a lot, that of the one that keeps most of its ground."""
    ids, place = (lots[name].to_numpy(dtype=object) for name in ("lot_id", "place"))
    heir: dict[Any, Any] = {}
    for lot, mine in claims.by_loser():
        if gone[lot]:
            most = ids[claims.keeper[mine][np.argmax(np.round(claims.area_m2[mine], _AREA_DIGITS))]]
            heir[ids[lot]] = heir.get(most, most)
    return np.array([heir.get(name, name) for name in place], dtype=object)


def _tell(ids: Geometries, shapes: Geometries, left: Geometries, claims: _Claims, findings: Findings) -> None:
    """Problems of the lots that were cut by more than strips, and notes on how many were and how many strips."""
    before, after = shapely.area(shapes), shapely.area(left)
    told = 0
    for lot, mine in claims.by_loser():
        some = ~claims.strip[mine] | (after[lot] == 0.0)
        if not some.any():
            continue
        told += 1
        area = float(claims.area_m2[mine][some].sum())
        done = "nothing is left: looked at with the lot of its place" if after[lot] == 0.0 else "cut"
        findings.problem(
            "lots",
            str(ids[lot]),
            f"overlaps lot {_few(ids[claims.keeper[mine][some]])} by {area:,.1f} m2",
            done,
            shapely.union_all(claims.ground[mine][some]),
            before_m2=float(before[lot]),
            after_m2=float(after[lot]),
        )
    if told:
        findings.note(
            "caution",
            f"{told:,} lots were cut where smaller lots overlap them: ground and roofs there count for the smaller. "
            "See problems, and correct the outlines where that is wrong.",
            "lots",
        )
    strips = int(np.count_nonzero(claims.strip & (after[claims.loser] > 0.0)))
    if strips:
        text = f"{strips:,} strips under {STRIP_M:g} m wide where lots overlap were left to the smaller lot."
        findings.note("repair", text, "lots")


def _few(names: NDArray[np.object_]) -> str:
    """The first few of some names, and how many more there are."""
    more = len(names) - _NAMED
    return ", ".join(str(name) for name in names[:_NAMED]) + (f" and {more:,} more" if more > 0 else "")
