"""Geometries as whole numbers of a small part of a metre, each the difference to the point before."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS

from screening.outputs.map.ellipses import as_ellipses
from screening.outputs.map.pack import Pack
from screening.outputs.map.varints import zigzag
from screening.outputs.map.world_fit import MERCATOR, WorldFit, fit_world, mercator_m

__all__ = ["COARSE", "FINE", "pack_shapes"]

COARSE: Final = 10
"""Steps in a metre for lots and what is as large."""
FINE: Final = 100
"""Steps in a metre for gardens and what is as small."""
_SMOOTH_M: Final = 0.02
"""Small outlines are drawn with fewer points to within this."""
_NEAR_STEPS: Final = 0.2
"""The page places a point to within this part of a step."""


def _rings(shapes: NDArray[Any]) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """Rings of each feature, points of each ring, and the points; rings lose the point that closes them."""
    types = shapely.get_type_id(shapes)
    polygonal = bool(np.isin(types, (3, 6)).any())
    if (types <= 3).all() and not shapely.get_num_interior_rings(shapes).any():
        counts, sizes = (types >= 0).astype(np.int64), shapely.get_num_coordinates(shapes[types >= 0])
        points = shapely.get_coordinates(shapes)
    else:
        parts, owner = shapely.get_parts(shapes, return_index=True)
        if polygonal:
            parts, part = shapely.get_rings(parts, return_index=True)
            owner = owner[part]
        sizes, points = shapely.get_num_coordinates(parts), shapely.get_coordinates(parts)
        counts = np.bincount(owner, minlength=len(shapes)).astype(np.int64)
    if polygonal:
        keep = np.ones(len(points), dtype=bool)
        keep[np.cumsum(sizes) - 1] = False
        points, sizes = points[keep], sizes - 1
    return counts, sizes.astype(np.int64), points


def _smoothed(outlines: NDArray[Any]) -> NDArray[Any]:
    """Outlines with fewer points; one that would vanish stays as it was."""
    smooth = shapely.simplify(outlines, _SMOOTH_M, preserve_topology=False)
    return np.where(shapely.is_empty(smooth), outlines, smooth)


def _bounds(points_m: NDArray[np.float64]) -> tuple[float, float, float, float]:
    """West, south, east, north."""
    x, y = points_m.T
    return float(x.min()), float(y.min()), float(x.max()), float(y.max())


def _placed(points_m: NDArray[np.float64], crs: CRS, steps: int) -> tuple[NDArray[np.float64], WorldFit]:
    """The points and how the page places them; in Mercator where no polynomial places the working CRS."""
    if not len(points_m):
        return points_m, fit_world((0.0, 0.0, 0.0, 0.0), CRS.from_epsg(MERCATOR), 1.0)
    near_m = _NEAR_STEPS / steps
    fit = fit_world(_bounds(points_m), crs, near_m)
    if fit.worst_m > near_m:
        points_m = mercator_m(points_m, crs)
        fit = fit_world(_bounds(points_m), CRS.from_epsg(MERCATOR), near_m)
    return points_m, fit


def _on_the_way(east: NDArray[np.int64], north: NDArray[np.int64], sizes: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Points of lines that lie straight between their neighbours, told by the moves to each."""
    straight = np.zeros(len(east), dtype=bool)
    straight[:-1] = east[:-1] * north[1:] == north[:-1] * east[1:]
    straight[:-1] &= east[:-1] * east[1:] + north[:-1] * north[1:] > 0
    ends = np.cumsum(sizes)
    straight[ends - sizes] = straight[ends - 1] = False
    return straight


def _add_points(
    pack: Pack, sizes: NDArray[np.int64], points_m: NDArray[np.float64], fit: WorldFit, told: dict[str, Any]
) -> None:
    """Add points as moves from one to the next, and what the page needs to place them."""
    steps = told["steps"]
    whole = [np.floor((points_m[:, axis] - fit.centre_m[axis]) * steps + 0.5).astype(np.int64) for axis in range(2)]
    if told["kind"] == "line" and len(points_m):
        east, north = (np.diff(place, prepend=0) for place in whole)
        keep = ~_on_the_way(east, north, sizes)
        sizes = np.add.reduceat(keep, np.cumsum(sizes) - sizes, dtype=np.int64)
        whole = [place[keep] for place in whole]
    moves = np.empty((len(whole[0]), 2), dtype=np.uint64)
    for axis, place in enumerate(whole):
        moves[:, axis] = zigzag(np.diff(place, prepend=0))
    told |= {
        "sizes": pack.add(sizes),
        "moves": pack.add(moves.ravel()),
        "half": fit.half_m * steps,
        "degree": fit.degree,
        "world": [fit.x, fit.y],
    }


def pack_shapes(pack: Pack, shapes: Any, crs: CRS, steps: int) -> dict[str, Any]:
    """Add the geometries of one layer to the pack.

    Parameters
    ----------
    pack
        Where the sections go.
    shapes
        Points, lines or polygons (single or multi, one kind), working CRS; missing ones have no rings.
    crs
        The working CRS.
    steps
        Steps in a metre.

    Returns
    -------
    dict
        What the page needs to read them: kind, steps, the numbers of the sections, and the polynomial that places
        them. Ellipses are told by centres and half axes (``axes``).
    """
    array = np.array(shapes, dtype=object)
    gone = shapely.is_missing(array) | shapely.is_empty(array)
    array[gone] = None
    there = array[~gone]
    dimensions = shapely.get_dimensions(there)
    kind = "polygon" if (dimensions == 2).any() else "line" if (dimensions == 1).any() else "point"
    told: dict[str, Any] = {"kind": kind, "steps": steps}
    ellipses = as_ellipses(there) if kind == "polygon" and steps == FINE else None
    if ellipses is not None:
        counts, sizes, points = (~gone).astype(np.int64), np.ones(len(there), dtype=np.int64), ellipses[:, 0]
    else:
        if kind == "polygon" and steps == FINE:
            array[~gone] = _smoothed(there)
        counts, sizes, points = _rings(array)
    told["counts"] = pack.add(counts)
    placed, fit = _placed(points, crs, steps)
    if ellipses is not None:
        tips = ellipses[:, :1] + ellipses[:, 1:]
        if placed is not points:
            tips = mercator_m(tips.reshape(-1, 2), crs).reshape(tips.shape)
        axes = np.floor((tips - placed[:, None]) * steps + 0.5).astype(np.int64)
        told["axes"] = pack.add(zigzag(axes).ravel())
    _add_points(pack, sizes, placed, fit, told)
    return told
