"""The working CRS: the raster's own with the metre as its unit, or a local one where its scale is off."""

from __future__ import annotations

import copy
from typing import Any, Final

import numpy as np
from pyproj import CRS, Proj, Transformer
from pyproj.crs import ProjectedCRS
from pyproj.crs.coordinate_operation import TransverseMercatorConversion
from pyproj.exceptions import CRSError
from pyproj.network import set_network_enabled  # type: ignore[attr-defined]  # it has no __all__

__all__ = [
    "SCALE_TOLERANCE",
    "areal_scale",
    "centre_degrees",
    "crs_of",
    "horizontal_crs",
    "linear_unit_m",
    "local_crs",
    "metric_crs",
    "network_off",
    "vertical_unit_m",
]

SCALE_TOLERANCE: Final = 0.01
"""Departure of the areal scale from 1 from which a raster is warped."""


def network_off() -> None:
    """Keep PROJ from fetching grids, so that the same files give the same coordinates everywhere."""
    set_network_enabled(active=False)


def crs_of(text: str | None) -> CRS | None:
    """The CRS that a text means; None when it means none."""
    if text is None:
        return None
    try:
        return CRS.from_user_input(text)
    except CRSError:
        return None


def horizontal_crs(crs: CRS) -> CRS:
    """The horizontal part of a CRS.

    Of a compound CRS its first part, of a bound one its source, of a 3-D one its 2-D form.
    """
    if crs.is_bound and crs.source_crs is not None:
        return horizontal_crs(crs.source_crs)
    if crs.is_compound and crs.sub_crs_list:
        return horizontal_crs(crs.sub_crs_list[0])
    return crs.to_2d() if len(crs.axis_info) == 3 else crs


def linear_unit_m(crs: CRS) -> float | None:
    """Metres in one horizontal unit of a CRS [m]; None when it is geographic."""
    horizontal = horizontal_crs(crs)
    if not horizontal.is_projected:
        return None
    return float(horizontal.axis_info[0].unit_conversion_factor)


def vertical_unit_m(crs: CRS) -> float | None:
    """Metres in one unit of the CRS's height axis [m]; None when it has none."""
    if crs.is_bound and crs.source_crs is not None:
        return vertical_unit_m(crs.source_crs)
    parts = crs.sub_crs_list if crs.is_compound else [crs]
    for part in parts:
        for axis in part.axis_info:
            if axis.direction.lower() in ("up", "down"):
                return float(axis.unit_conversion_factor)
    return None


def _unit_factor(unit: Any) -> float | None:
    """Metres in a linear unit as PROJJSON writes it; None when the unit is not linear."""
    if unit == "metre":
        return 1.0
    if isinstance(unit, dict) and unit.get("type") == "LinearUnit":
        return float(unit["conversion_factor"])
    return None


def metric_crs(crs: CRS) -> CRS:
    """A projected CRS with its linear unit replaced by the metre.

    False origins are multiplied by the unit's factor, so that coordinates in the new CRS are the old ones times the
    factor. A CRS already in metres comes back as it is.

    Parameters
    ----------
    crs
        A projected CRS.

    Returns
    -------
    pyproj.CRS
        The CRS in metres.
    """
    horizontal = horizontal_crs(crs)
    if linear_unit_m(horizontal) == 1.0:
        return horizontal
    told = copy.deepcopy(horizontal.to_json_dict())
    for key in ("id", "ids", "usages", "scope", "area", "bbox", "remarks"):
        told.pop(key, None)
    told["name"] = f"{told['name']} in metres"
    for parameter in told["conversion"].get("parameters", ()):
        factor = _unit_factor(parameter.get("unit"))
        if factor is not None:
            parameter["value"] *= factor
            parameter["unit"] = "metre"
    told["conversion"].pop("id", None)
    for axis in told["coordinate_system"]["axis"]:
        axis["unit"] = "metre"
    return CRS.from_json_dict(told)


def areal_scale(crs: CRS, longitude: float, latitude: float) -> float:
    """Areal scale of a projected CRS at a place: projected area over true area.

    Parameters
    ----------
    crs
        A projected CRS.
    longitude, latitude
        The place, in the CRS's own geographic CRS [deg].
    """
    factors = Proj(metric_crs(crs)).get_factors(longitude, latitude)
    return float(np.asarray(factors.areal_scale).item())


def local_crs(crs: CRS, longitude: float, latitude: float) -> CRS:
    """Transverse Mercator at a place, scale 1, on the datum of ``crs``, origin rounded to 0.01 degree.

    Parameters
    ----------
    crs
        Any CRS with a geographic base.
    longitude, latitude
        The place [deg].
    """
    base = horizontal_crs(crs).geodetic_crs
    origin = round(latitude, 2), round(longitude, 2)
    conversion = TransverseMercatorConversion(
        latitude_natural_origin=origin[0], longitude_natural_origin=origin[1], scale_factor_natural_origin=1.0
    )
    name = f"Transverse Mercator at {origin[0]:.2f}, {origin[1]:.2f}"
    return ProjectedCRS(conversion=conversion, name=name, geodetic_crs=base)


def centre_degrees(crs: CRS, x: float, y: float) -> tuple[float, float]:
    """Longitude and latitude [deg] of a place given in ``crs``, in its own geographic CRS."""
    horizontal = horizontal_crs(crs)
    to_degrees = Transformer.from_crs(horizontal, horizontal.geodetic_crs, always_xy=True)
    longitude, latitude = to_degrees.transform(x, y)
    return float(longitude), float(latitude)
