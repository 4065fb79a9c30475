"""Repair geometry: flat, valid, snapped to the millimetre, of the kind its layer needs; every repair told."""

from __future__ import annotations

from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.inputs.findings import Findings
from screening.inputs.layer_keys import GEOMETRY, ID_COLUMNS

__all__ = ["SNAP_M", "labels", "repaired", "snapped", "with_finite_coordinates"]

SNAP_M: Final = 0.001
"""Coordinates are whole multiples of this [m]."""

_PER_M: Final = 1000.0
"""Multiplied and divided by, so that a coordinate is the float nearest to its whole number of millimetres."""
_SLIVER_M2: Final = 0.01
_TOLD_CHANGE: Final = 0.05
_DIMENSION: Final = {"point": 0, "line": 1, "polygon": 2}
_WHOLE: Final = frozenset({"lots", "soils"})
"""Layers whose features keep all their parts together."""

Geometries = NDArray[np.object_]


def labels(frame: gpd.GeoDataFrame, layer: str) -> list[str]:
    """How to name each feature: by its id, else by its number from 1."""
    numbers = [str(number) for number in range(1, len(frame) + 1)]
    column = ID_COLUMNS.get(layer)
    if column is None or column not in frame.columns:
        return numbers
    return [id_ if isinstance(id_, str) else number for id_, number in zip(frame[column], numbers, strict=True)]


def snapped(geometries: Geometries) -> Geometries:
    """Geometries with their coordinates rounded to the millimetre, repeated points dropped."""
    out = np.array(geometries, dtype=object)
    coordinates = shapely.get_coordinates(out)
    shapely.set_coordinates(out, np.round(coordinates * _PER_M) / _PER_M)
    return np.asarray(shapely.remove_repeated_points(out, 0.0), dtype=object)


def with_finite_coordinates(frame: gpd.GeoDataFrame, layer: str, findings: Findings) -> gpd.GeoDataFrame:
    """The layer without the features that have a coordinate which is no number; these are told.

    Parameters
    ----------
    frame, layer
        A layer and its name.
    findings
        Where problems go.
    """
    geometries = np.array(frame.geometry.array, dtype=object)
    coordinates, where = shapely.get_coordinates(geometries, return_index=True)
    odd = np.unique(where[~np.isfinite(coordinates).all(axis=1)])
    if not odd.size:
        return frame
    names = labels(frame, layer)
    for at in odd:
        findings.problem(layer, names[at], "a coordinate is no number", "dropped")
    findings.note("repair", f"{odd.size:,} features with a coordinate that is no number were dropped.", layer)
    kept = np.ones(len(frame), dtype=bool)
    kept[odd] = False
    return frame[kept].reset_index(drop=True)


def _valid(geometries: Geometries) -> Geometries:
    """Invalid geometries made valid on the millimetre grid; what collapses is dropped."""
    valid = shapely.make_valid(geometries, method="structure", keep_collapsed=False)
    on_grid = shapely.set_precision(valid, SNAP_M)
    return np.asarray(shapely.set_precision(on_grid, 0.0), dtype=object)


def _only(geometry: Any, dimension: int) -> Any:
    """The parts of a geometry that have a dimension, as one geometry; None when there are none."""
    parts = [part for part in shapely.get_parts(geometry) if shapely.get_dimensions(part) == dimension]
    if not parts:
        return None
    if len(parts) == 1:
        return parts[0]
    maker = (shapely.multipoints, shapely.multilinestrings, shapely.multipolygons)[dimension]
    return maker(parts)


def repaired(frame: gpd.GeoDataFrame, layer: str, findings: Findings) -> gpd.GeoDataFrame:
    """Repair a layer's geometry.

    Heights are dropped, coordinates snapped, invalid geometries made valid, parts of the wrong kind left out, features
    of several parts split (lots stay whole), exterior rings turned counter-clockwise. Features with nothing left are
    dropped into the problems.

    Parameters
    ----------
    frame
        A layer in the working CRS.
    layer
        Its name.
    findings
        Where problems and notes go.

    Returns
    -------
    geopandas.GeoDataFrame
        The features that are left, in the same order, index 0..n-1.
    """
    names = np.array(labels(frame, layer), dtype=object)
    raw = np.asarray(frame.geometry.array, dtype=object)
    empty = shapely.is_missing(raw) | shapely.is_empty(raw)
    for name in names[empty]:
        findings.problem(layer, name, "no geometry", "dropped")
    kept, names, raw = frame[~empty].reset_index(drop=True), names[~empty], raw[~empty]
    if np.any(shapely.has_z(raw)):
        findings.note("repair", f"{int(np.count_nonzero(shapely.has_z(raw))):,} features had Z values; dropped.", layer)
    flat = np.asarray(shapely.force_2d(raw), dtype=object)
    geometries = snapped(flat)
    geometries, broken = _mended(flat, geometries, names, layer, findings)
    geometries = _of_one_kind(geometries, names, layer, findings)
    geometries = np.asarray(shapely.orient_polygons(geometries), dtype=object)
    gone = shapely.is_missing(geometries) | shapely.is_empty(geometries)
    for name, geometry in zip(names[gone & broken], flat[gone & broken], strict=True):
        findings.problem(layer, name, "nothing is left of it after repair", "dropped", geometry)
    kept = kept[~gone].reset_index(drop=True).set_geometry(geometries[~gone])
    _tell_counts(empty, gone, layer, findings)
    return kept if layer in _WHOLE else _split(kept, names[~gone], layer, findings)


def _tell_counts(empty: NDArray[Any], gone: NDArray[Any], layer: str, findings: Findings) -> None:
    dropped = int(np.count_nonzero(empty)) + int(np.count_nonzero(gone))
    if dropped:
        findings.note("repair", f"{dropped:,} features without usable geometry were dropped; see problems.", layer)


def _mended(
    flat: Geometries, geometries: Geometries, names: Geometries, layer: str, findings: Findings
) -> tuple[Geometries, NDArray[np.bool_]]:
    """The geometries with the invalid ones mended, each told as a problem; and which they were."""
    bad = ~shapely.is_valid(geometries) | ~shapely.is_valid(flat)
    if not bad.any():
        return geometries, bad
    out = geometries.copy()
    out[bad] = _valid(geometries[bad])
    before, after = shapely.area(flat), shapely.area(out)
    changed = []
    for at in np.flatnonzero(bad):
        reason = shapely.is_valid_reason(flat[at])
        if reason == "Valid Geometry":
            reason = "invalid once snapped to 1 mm"
        findings.problem(
            layer,
            names[at],
            str(reason).split("[")[0].strip().lower(),
            "repaired",
            out[at],
            before_m2=float(before[at]),
            after_m2=float(after[at]),
        )
        if abs(after[at] - before[at]) > max(_TOLD_CHANGE * before[at], 1.0):
            changed.append(names[at])
    findings.note("repair", f"{int(np.count_nonzero(bad)):,} invalid features were repaired; see problems.", layer)
    if changed:
        shown = ", ".join(changed[:5]) + (", ..." if len(changed) > 5 else "")
        findings.note("caution", f"Repair changed the area of {len(changed):,} features by over 5%: {shown}.", layer)
    return out, bad


def _of_one_kind(geometries: Geometries, names: Geometries, layer: str, findings: Findings) -> Geometries:
    """The geometries with parts of the layer's kind only; what has none becomes None and is told."""
    kind = GEOMETRY.get(layer)
    out = geometries.copy()
    mixed = shapely.get_type_id(geometries) == 7
    if kind is None:
        return out
    dimension = _DIMENSION[kind]
    wrong = (shapely.get_dimensions(geometries) != dimension) | mixed
    for at in np.flatnonzero(wrong):
        geometry = geometries[at]
        if shapely.is_empty(geometry):
            out[at] = None
            continue
        if kind == "point":
            out[at] = shapely.point_on_surface(geometry)
            findings.problem(layer, names[at], "not a point", "a point on it was taken", geometry)
            continue
        out[at] = _only(geometry, dimension)
        done = "dropped" if out[at] is None else f"its {kind} parts were kept"
        findings.problem(layer, names[at], f"not a {kind}", done, geometry)
    return out


def _split(frame: gpd.GeoDataFrame, names: Geometries, layer: str, findings: Findings) -> gpd.GeoDataFrame:
    """Features of several parts split into one feature a part; an id gets the part's number."""
    geometries = np.asarray(frame.geometry.array, dtype=object)
    parts, where = shapely.get_parts(geometries, return_index=True)
    slivers = (shapely.get_dimensions(parts) == 2) & (shapely.area(parts) < _SLIVER_M2)
    for at in np.flatnonzero(slivers):
        findings.problem(layer, names[where[at]], "sliver under 0.01 m2", "dropped", parts[at])
    parts, where = parts[~slivers], where[~slivers]
    counts = np.bincount(where, minlength=len(frame))
    split = frame.iloc[where].reset_index(drop=True).set_geometry(parts)
    several = np.flatnonzero(counts > 1)
    column = ID_COLUMNS.get(layer)
    if column is not None and several.size:
        order = pd.Series(where).groupby(where).cumcount().to_numpy() + 1
        ids = split[column].to_numpy(dtype=object, copy=True)
        for at in np.flatnonzero(counts[where] > 1):
            if isinstance(ids[at], str):
                ids[at] = f"{ids[at]}/{order[at]}"
        split[column] = pd.Series(ids, index=split.index, dtype="str")
        for at in several:
            findings.problem(layer, names[at], f"{counts[at]} parts", "split", geometries[at])
    return split
