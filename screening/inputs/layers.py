"""One vector layer, from its files to the shape that every stage is promised."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
from pyproj import CRS

from screening.area import FOUND_COLUMNS, LAYER_COLUMNS
from screening.inputs.area_file import LayerTable
from screening.inputs.columns import typed_columns
from screening.inputs.file_paths import shown_path
from screening.inputs.findings import Findings
from screening.inputs.layer_keys import ID_COLUMNS
from screening.inputs.lots import in_order, lots_in_order, unique_ids
from screening.inputs.overlaps import roofs_apart
from screening.inputs.placing import Bounds, Overlap, in_working_crs, meets, tell_overlap
from screening.inputs.repair import repaired, with_finite_coordinates
from screening.inputs.vector_file import Wanted, read_vector

__all__ = ["finished_layer", "joined", "reach_of", "read_layer_files"]

REACH_M: Final = 100.0
"""How far from the elevation and the lots a feature may lie and still be kept [m]."""


def read_layer_files(
    table: LayerTable,
    paths: Sequence[str],
    folder: Path,
    crs: CRS | None,
    findings: Findings,
    around: Callable[[CRS], Bounds] | None = None,
) -> gpd.GeoDataFrame | None:
    """Read a layer's files into one table in the working CRS, values as they came.

    Parameters
    ----------
    table
        The layer's table of the area file.
    paths, folder
        Files to open; folder of the area file.
    crs
        The working CRS; None when the elevation could not be read, and the files are only looked through.
    findings
        Where faults and notes go.
    around
        From a CRS to the rectangle in it that is to be read; all when None.
    """
    defaults = [column for column in LAYER_COLUMNS[table.name] if column not in FOUND_COLUMNS]
    wanted = Wanted(table.name, table.columns, defaults, table.layer, table.crs, table.encoding, around)
    frames = []
    for path in paths:
        shown = shown_path(path, folder)
        frame = read_vector(path, shown, wanted, findings)
        if frame is None:
            continue
        if table.name == "lots" and "lot_id" not in frame.columns:
            findings.fault(
                "Lots need an id, and the file has no column 'lot_id'",
                "Add id = ... to [lots] with the name of the column",
                file=shown,
                layer="lots",
            )
            continue
        if crs is not None:
            frame = in_working_crs(frame, crs, findings, layer=table.name, file=shown)
        if frame is not None:
            frames.append(frame)
    return joined(frames, crs) if frames and len(frames) == len(paths) and crs is not None else None


def joined(frames: Sequence[gpd.GeoDataFrame], crs: CRS) -> gpd.GeoDataFrame:
    """Tables of one layer as one."""
    if len(frames) == 1:
        return frames[0]
    # As objects, so that whole numbers beside text or gaps do not turn into floats.
    parts = [frame.drop(columns=frame.geometry.name).astype(object) for frame in frames]
    geometry = [shape for frame in frames for shape in frame.geometry]
    return gpd.GeoDataFrame(pd.concat(parts, ignore_index=True), geometry=geometry, crs=crs)


def finished_layer(
    frame: gpd.GeoDataFrame,
    layer: str,
    bounds: Bounds,
    findings: Findings,
    *,
    factors: Mapping[str, float] | None = None,
    words: Mapping[str, Mapping[str, str]] | None = None,
    file: str = "",
    reach: Bounds | None = None,
) -> tuple[gpd.GeoDataFrame, Overlap]:
    """A layer as ``LAYER_COLUMNS`` promises it: typed, repaired, ids unique, lots and roofs in order.

    Parameters
    ----------
    frame
        Our column names, values as they came, in the working CRS.
    layer
        The layer's name.
    bounds
        West, south, east, north of the elevation [m].
    findings
        Where faults, notes and problems go.
    factors, words
        Metres in one unit of each length column; the file's words of the columns with a fixed choice.
    file
        For the faults.
    reach
        What lies beyond this rectangle (west, south, east, north [m]) is left out, never of lots.
    """
    typed: Any = typed_columns(frame, layer, findings, factors=factors, words=words)
    typed = with_finite_coordinates(typed, layer, findings)
    column = ID_COLUMNS.get(layer)
    if column is not None:
        typed = unique_ids(typed, layer, column, findings)
    overlap = tell_overlap(typed, bounds, findings, layer=layer, file=file, cut=layer != "lots")
    if reach is not None and layer != "lots" and overlap.share > 0:
        typed = _within_reach(typed, reach, layer, findings)
    whole = repaired(typed, layer, findings)
    if layer == "lots":
        whole = lots_in_order(whole, findings)
    elif column is not None:
        whole = in_order(whole, column)
    if layer == "roofs":
        whole = roofs_apart(whole, findings)
    return whole, overlap


def _within_reach(frame: gpd.GeoDataFrame, reach: Bounds, layer: str, findings: Findings) -> gpd.GeoDataFrame:
    """The features that meet a rectangle, and those without geometry, which are told later."""
    boxes = frame.bounds.to_numpy()
    near = meets(boxes, reach) | np.isnan(boxes[:, 0])
    if near.all():
        return frame
    away = int(np.count_nonzero(~near))
    findings.note("assumption", f"{away:,} features far from every lot and from the elevation were left out.", layer)
    return frame[near].reset_index(drop=True)


def reach_of(bounds: Bounds, lots: gpd.GeoDataFrame | None) -> Bounds:
    """What may matter: the elevation, the lots, and 100 m around both.

    Parameters
    ----------
    bounds
        West, south, east, north of the elevation [m].
    lots
        The lots; None when they could not be read.
    """
    boxes = [bounds] if lots is None or lots.empty else [bounds, tuple(lots.total_bounds)]
    west, south, _, _ = np.min(boxes, axis=0)
    _, _, east, north = np.max(boxes, axis=0)
    return float(west - REACH_M), float(south - REACH_M), float(east + REACH_M), float(north + REACH_M)
