"""Bring a layer into the working CRS, and say how much of it lies on the elevation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS, Transformer

from screening.inputs.findings import Findings
from screening.inputs.working_crs import horizontal_crs, metric_crs
from screening.units import FOOT_M

__all__ = ["Bounds", "Overlap", "in_working_crs", "meets", "overlap_share", "tell_overlap"]

_TOLD_ACCURACY_M: Final = 1.0

Bounds = tuple[float, float, float, float]


@dataclass(frozen=True, order=True)
class Overlap:
    """How much of a layer lies on the elevation."""

    layer: str
    features: int
    share: float


def in_working_crs(
    frame: gpd.GeoDataFrame, crs: CRS, findings: Findings, *, layer: str, file: str = ""
) -> gpd.GeoDataFrame | None:
    """A layer in the working CRS; the operation that PROJ chose is noted when it is less exact than a metre.

    Parameters
    ----------
    frame
        A layer with its own CRS.
    crs
        The working CRS.
    findings
        Where faults and notes go.
    layer, file
        For these.

    Returns
    -------
    geopandas.GeoDataFrame or None
        None when coordinates cannot be brought over.
    """
    source = horizontal_crs(frame.crs)
    if source == crs:
        return frame.set_crs(crs, allow_override=True)
    transformer = Transformer.from_crs(source, crs, always_xy=True)
    geometries = np.array(frame.geometry.array, dtype=object)
    flat = np.asarray(shapely.force_2d(geometries), dtype=object)
    coordinates = shapely.get_coordinates(flat)
    x, y = transformer.transform(coordinates[:, 0], coordinates[:, 1])
    moved = np.column_stack([x, y])
    lost = np.isfinite(coordinates).all(axis=1) & ~np.isfinite(moved).all(axis=1)
    if lost.any():
        count = int(np.count_nonzero(lost))
        findings.fault(
            f"{count:,} coordinates cannot be brought from {source.name} to {crs.name}",
            f'Check the layer\'s CRS; the right one can be given as crs = "EPSG:..." in [{layer}]',
            file=file,
            layer=layer,
        )
        return None
    shapely.set_coordinates(flat, moved)
    if np.any(shapely.has_z(geometries)):
        findings.note(
            "repair", f"{int(np.count_nonzero(shapely.has_z(geometries))):,} features had Z values; dropped.", layer
        )
    only_the_unit = source.is_projected and metric_crs(source) == crs
    if len(coordinates) and not only_the_unit:
        _tell_operation(transformer, source, findings, layer)
    return frame.set_geometry(flat).set_crs(crs, allow_override=True)


def _tell_operation(transformer: Transformer, source: CRS, findings: Findings, layer: str) -> None:
    """Note the operation that PROJ chose and how exact it is."""
    used = transformer.get_last_used_operation()
    named = f"Brought from {source.name} by '{used.description}'"
    if "ballpark" in used.description.lower():
        told = f"{named}, whose exactness nobody states: check that it lies where it should."
        findings.note("caution", told, layer)
    elif used.accuracy is not None and used.accuracy > _TOLD_ACCURACY_M:
        told = f"{named}, exact to {used.accuracy:g} m: check that it lies where it should."
        findings.note("assumption", told, layer)
    else:
        findings.note("assumption", f"{named}.", layer)


def overlap_share(frame: gpd.GeoDataFrame, bounds: Bounds) -> float:
    """Share of the features whose box meets a rectangle; 0 when there are none."""
    boxes = shapely.bounds(np.asarray(frame.geometry.array, dtype=object))
    return float(np.mean(meets(boxes, bounds))) if len(boxes) else 0.0


def meets(boxes: NDArray[np.float64], bounds: Bounds) -> NDArray[np.bool_]:
    """Which boxes (west, south, east, north a row) meet a rectangle; empty ones do not."""
    west, south, east, north = bounds
    with np.errstate(invalid="ignore"):
        return (boxes[:, 0] <= east) & (boxes[:, 2] >= west) & (boxes[:, 1] <= north) & (boxes[:, 3] >= south)


def tell_overlap(
    frame: gpd.GeoDataFrame, bounds: Bounds, findings: Findings, *, layer: str, file: str = "", cut: bool = False
) -> Overlap:
    """Measure a layer's overlap with the elevation; none at all is a fault, with a guess why.

    Parameters
    ----------
    frame
        The layer in the working CRS.
    bounds
        West, south, east, north of the elevation [m].
    findings
        Where faults and notes go.
    layer, file
        For these.
    cut
        Whether what lies off the elevation is left out and therefore not worth a caution.
    """
    share = overlap_share(frame, bounds)
    found = Overlap(layer, len(frame), share)
    if len(frame) == 0:
        findings.note("caution", "The layer holds no feature.", layer)
    elif share == 0:
        if _apart(frame.total_bounds, bounds):
            findings.fault("Nothing of the layer lies on the elevation", _guess(frame, bounds), file=file, layer=layer)
        else:
            findings.note("caution", "The layer surrounds the elevation, but none of it lies on it.", layer)
    elif share < 1 and not cut:
        outside = round(len(frame) * (1 - share))
        findings.note("caution", f"{outside:,} of {len(frame):,} features lie off the elevation.", layer)
    return found


def _apart(box: Any, bounds: Bounds) -> bool:
    return not bool(meets(np.asarray([box], dtype=np.float64), bounds)[0])


def _guess(frame: gpd.GeoDataFrame, bounds: Bounds) -> str:
    """A guess why a layer does not lie on the elevation."""
    west, south, east, north = (float(edge) for edge in frame.total_bounds)
    if not _apart((south, west, north, east), bounds):
        return "Its x and y seem to be swapped: write it again with x (east) first"
    for factor, words in ((FOOT_M, "feet"), (1 / FOOT_M, "metres")):
        if not _apart([edge * factor for edge in (west, south, east, north)], bounds):
            return f"Its coordinates seem to be in {words}, which its CRS does not say; give the right crs in the table"
    if max(abs(edge) for edge in (west, south, east, north)) <= 360:
        return "Its coordinates look like degrees, which its CRS does not say; give the right crs in the table"
    middle = (bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2
    away_m = float(np.hypot((west + east) / 2 - middle[0], (south + north) / 2 - middle[1]))
    return f"It lies {away_m / 1000:,.1f} km away: it is of another place, or its CRS is wrong"
